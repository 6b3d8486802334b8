"""Tanks: how much they hold, at any level; what the water weighs, pushes and takes to run out.

``depth`` is the water's depth above the tank's floor, from zero to the tank's height.
Sizes are inside sizes.  The shape is chosen in ``vanplumb.van.tank_shapes``.
"""

from numpy import arccos, maximum, pi, sin, sqrt

from ..words.formula import formula
from ..words.glossary import GRAVITY
from ..words.sources import GEOMETRY, PHYSICS, TORRICELLI

SHARE = (0.5, 1.0)


@formula("volume", source=GEOMETRY.at("cuboid"))
def box_content(length, width, depth):
    """Water in a box; at a depth of its height, all that it holds."""
    return length * width * depth


@formula("volume", source=GEOMETRY.at("cylinder"))
def standing_cylinder_content(diameter, depth):
    """Water in an upright cylinder with a flat floor."""
    return pi / 4 * diameter**2 * depth


@formula("volume", source=GEOMETRY.at("circular segment"))
def lying_cylinder_content(depth, diameter, length):
    """Water in a lying cylinder with flat ends, by the segment of its circle that is wet.

    The angle is the one under which the surface is seen from the middle; full at 2π.
    """
    angle = 2 * arccos(maximum(1 - 2 * depth / diameter, -1))
    area = diameter**2 / 8 * (angle - sin(angle))
    return area * length


@formula("volume", source=GEOMETRY.at("cuboids"))
def stepped_box_content(length, width, depth, length_step, height_step):
    """Water in a box whose floor is raised over a wheel arch for a part of its length.

    Over the step there is water only once the depth is above it.
    """
    depth_step = maximum(depth - height_step, 0)
    return width * (depth * (length - length_step) + depth_step * length_step)


@formula("volume", source=GEOMETRY.at("prism"))
def wedge_content(length, width, depth, height_high, height_low):
    """Water in a box with a level floor and a roof that slopes from its high end to its low.

    Once the water touches the low end of the roof, a triangle is missing above the roof.
    The two heights must differ; else it is a box.
    """
    depth_above = maximum(depth - height_low, 0)
    area_missing = length * depth_above**2 / (2 * (height_high - height_low))
    return width * (length * depth - area_missing)


@formula("depth", source=GEOMETRY.at("cuboid"))
def box_depth(volume, length, width):
    """Depth of the water in a box."""
    return volume / (length * width)


@formula("length", source=GEOMETRY.at("cylinder"))
def standing_cylinder_depth(volume, diameter):
    """Depth of the water in an upright cylinder."""
    return 4 * volume / (pi * diameter**2)


@formula("volume_usable", source=PHYSICS.at("conservation of mass"))
def usable_volume(volume, volume_heel, share_full):
    """Water that the pump can reach from a tank that starts so full; the heel stays behind."""
    return maximum(share_full * volume - volume_heel, 0)


@formula("mass", source=PHYSICS.at("definition of density"))
def water_mass(density, volume):
    """Mass of the water."""
    return density * volume


@formula("force", source=PHYSICS.at("Newton's second law"))
def surge_load(mass, acceleration):
    """Push of the water on the tank's straps in braking or a crash, as if it were a solid.

    Sloshing adds to it for a moment in a part-full tank without baffles.
    """
    return mass * acceleration


@formula("pressure", source=PHYSICS.at("hydrostatics"))
def floor_pressure(density, depth):
    """Pressure on the tank's floor from the water above it."""
    return density * GRAVITY * depth


@formula("velocity", source=TORRICELLI)
def jet_speed(depth):
    """Speed of a free jet out of a hole that lies so deep."""
    return sqrt(2 * GRAVITY * depth)


@formula("duration", source=TORRICELLI, valid={"coefficient": SHARE})
def drain_time(area_tank, diameter_hole, coefficient, depth):
    """Time for an upright tank of constant section to empty through a hole in its floor.

    The hole is small beside the tank, so each instant is a steady jet.  The factor 2
    is averaging: the speed falls evenly from its first value to nothing.
    """
    area_hole = pi / 4 * diameter_hole**2
    return 2 * area_tank / (coefficient * area_hole) * sqrt(depth / (2 * GRAVITY))


@formula("area", source=PHYSICS.at("conservation of mass, uniform section"))
def mean_section(volume, depth):
    """Section of an upright tank that holds the same at the same depth."""
    return volume / depth


@formula("duration", source=PHYSICS.at("conservation of mass"))
def supply_time(volume, flow_day):
    """How long the usable water lasts at a mean use."""
    return volume / flow_day
