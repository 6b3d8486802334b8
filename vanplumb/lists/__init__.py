"""Joints, cuts, bill and quote of the whole van, all from the same ends.

Stands below the shop, since the shop's clock, test and papers read the joints of this list.
"""

from .engine import Lists

__all__ = ["Lists"]
