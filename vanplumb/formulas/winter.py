"""Winter filling: antifreeze thinned by what stayed in the runs."""

from vanplumb.words.formula import formula
from vanplumb.words.sources import CENGEL

BALANCE = CENGEL.at("section 5-2, conservation of mass")


@formula("share", source=BALANCE)
def thinned_share(share_glycol, mass, mass_water):
    """Share of glycol by mass after antifreeze has met water that stayed behind."""
    return share_glycol * mass / (mass + mass_water)


@formula("mass_water", source=BALANCE)
def water_left(share_left, volume, density):
    """Water that stays in the runs after draining and blowing out."""
    return share_left * volume * density


@formula("mass", source=BALANCE)
def filling_mass(volume, density):
    """Mass of the antifreeze that fills the runs."""
    return volume * density


@formula("mass", source=BALANCE)
def antifreeze_mass(share_glycol, share_wanted, mass_water):
    """Antifreeze that must mix with water that stayed behind to leave the wanted share."""
    return mass_water * share_wanted / (share_glycol - share_wanted)
