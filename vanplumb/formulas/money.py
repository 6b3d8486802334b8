"""What a job costs: hours at a rate, a margin on parts and work, a tax on top."""

from ..words.formula import formula
from ..words.sources import DEFINITION


@formula("price", source=DEFINITION)
def price_of_work(price_hour, number_hours):
    """Price of some hours of work."""
    return price_hour * number_hours


@formula("price", source=DEFINITION)
def price_with_margin(price_cost, share_margin):
    """Price with a margin that is a share of the cost."""
    return price_cost * (1 + share_margin)


@formula("price", source=DEFINITION)
def price_with_tax(price_net, price_taxed, share_tax):
    """Price with a tax on some of it: on all where work is taxed too, else on the parts."""
    return price_net + share_tax * price_taxed
