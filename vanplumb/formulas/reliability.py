"""Chances of joints that weep, from few trials."""

from numpy import log

from vanplumb.words.formula import formula
from vanplumb.words.sources import CLOPPER, RULE_OF_THREE, STATISTICS


@formula("chance", source=RULE_OF_THREE, valid={"count": (30.0, 1e9)})
def rule_of_three(count):
    """Highest chance, at 95 %, of an event that did not come in so many trials."""
    return 3 / count


@formula("chance", source=CLOPPER.at("one-sided limit, no event"), valid={"count": (1.0, 1e9)})
def upper_chance_none(confidence, count):
    """Highest chance, at a confidence, of an event that did not come in so many trials."""
    return 1 - (1 - confidence) ** (1 / count)


@formula("count", source=STATISTICS, valid={"chance": (1e-9, 0.999999)})
def trials_needed(confidence, chance):
    """Trials without an event that show a chance to be no higher, at a confidence."""
    return log(1 - confidence) / log(1 - chance)


@formula("chance_any", source=STATISTICS)
def chance_of_any(chance, count):
    """Chance of at least one event among so many like trials that know nothing of each other."""
    return 1 - (1 - chance) ** count
