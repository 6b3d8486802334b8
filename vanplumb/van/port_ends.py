"""Which end each port of a build has: as the build file says, else as parts of its kind have.

What a part has goes by the tube that comes to it: parts for inch tube have NPT, for metric
tube R and G, for hose barbs.  Manifolds and tees hold the tube itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..words.brief import brief
from ..words.tables import Row, table
from .ends import End, kind_that_holds, method_of, read_end, size_of, system_of, thread_size
from .model import Build
from .parts import Component, Fixture, Manifold, Run, Tee
from .pointers import Port, kind_of, ports

STATED = "given in the build file"


@brief
@dataclass(frozen=True)
class PortEnd:
    """The end of one port.  ``at`` says where it stands on the part, ``basis`` who says so.

    ``take_off``: m from the point that a run is measured to, to where the tube's end stops;
    ``insertion``: m of tube on or in it, where it holds tube.  ``owner`` is what has the end,
    where that is not the component itself: "C2 galley valve".
    """

    component: str
    port: str
    end: End
    at: str = ""
    basis: str = ""
    take_off: float = 0.0
    insertion: float = 0.0
    owner: str = ""

    @property
    def words(self) -> str:
        """The end and whose it is: "heater, cold: 1/2 in NPT female brass"."""
        where = f"{self.component}, {self.port}" if self.port != "any" else self.component
        return f"{where}: {self.end}"


def stated_ends(component: Component) -> Mapping[str, End]:
    """The ends that the build file says of a component, by port."""
    return {port: read_end(said) for port, said in component.ends}


def port_names(build: Build, component: Component) -> tuple[str, ...]:
    """The ports that ``ends`` may name: inlets, outlets, and a heater's relief valve."""
    inlets, outlets = ports(build, component)
    more = ("relief", "drain") if kind_of(component) == "heater" else ()
    return (*inlets, *outlets, *more)


def end_of_port(build: Build, port: Port, run: Run) -> PortEnd:
    """The end of the port that a run comes to.  Tees and manifolds hold the run's tube."""
    component = build.component(port.component)
    said = stated_ends(component).get(port.port)
    if said is not None:
        return PortEnd(port.component, port.port, said, basis=STATED)
    if isinstance(component, Tee | Manifold):
        tube = component.tube if isinstance(component, Manifold) else run.tube
        return PortEnd(port.component, port.port, holds_tube(build, tube, run.joint))
    row = typical(kind_of(component), form_of(build, component), port.port, build)
    return _typical_end(build, port.component, port.port, row, run.tube)


def form_of(build: Build, component: Component) -> str:
    """What typical figures of a component go by: a fixture's sort, else its own kind."""
    kind = str(getattr(component, "kind", ""))
    rows = table("fixtures", build.rows)
    if isinstance(component, Fixture):
        return str(rows[kind]["sort"] or "") if kind in rows else ""
    return kind


def holds_tube(build: Build, tube: str, stated: str = "") -> End:
    """An end that holds a tube by the way stated, or by its usual one."""
    method = method_of(tube, stated, build.rows)
    try:
        kind = kind_that_holds(method)
    except KeyError:
        kind = kind_that_holds(method_of(tube, "", build.rows))
    soft = method in ("push-fit", "hose clamp")
    return End(kind, size_of(tube, build.rows), "plastic" if soft else "brass")


def typical(kind: str, form: str, port: str, build: Build) -> Row:
    """The row of the table of ends for a port of a kind of component.

    KeyError if the table has none.
    """
    found = None
    for row in table("ends", build.rows).values():
        if row["component"] != kind or port not in row["ports"]:
            continue
        if row["form"] == form:
            return row
        if not row["form"]:
            found = row
    if found is None:
        raise KeyError(f"no end is known for {kind}, {port}")
    return found


def _typical_end(build: Build, component: str, port: str, row: Row, tube: str) -> PortEnd:
    said = str(row[system_of(tube, build.rows)])
    size = size_of(tube, build.rows)
    said = said.replace("{thread}", thread_size(tube, build.rows)).replace("{hose}", size)
    return PortEnd(component, port, read_end(said), row["at"] or "", f"{row.source('inch')}")


def relief_ends(build: Build, heater: Component, tube: str) -> tuple[PortEnd, PortEnd]:
    """The end by which a heater's relief valve is screwed in, and that of its drain."""
    said = stated_ends(heater)
    found = []
    for port, name in (("inlet", "relief"), ("drain", "drain")):
        if name in said:
            found.append(PortEnd(heater.name, name, said[name], basis=STATED))
        else:
            row = typical("relief valve", "", port, build)
            found.append(_typical_end(build, heater.name, name, row, tube))
    return found[0], found[1]
