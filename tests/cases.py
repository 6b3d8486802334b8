"""How many cases a test tries: few by default, so that the suite is soon run; more with --roaming.

``pytest --roaming`` also runs the tests marked ``roaming``, tries the larger of two counts here
and draws other random cases each time; ``--times 30`` multiplies the larger count.

The laws that hold for any build take ``--builds 1000``: so many random builds for each law, always
the same ones, with --roaming or without.
"""

from __future__ import annotations

roaming = False
times = 1
laws = 0
"""All are the command's (``tests/conftest.py``), and known before any test is loaded."""

others_of: dict[str, int] = {}
"""Files of which a roaming test is left out, and how many others they have that are run."""


def cases(few: int, many: int | None = None) -> int:
    """How many to try: ``few``, or with --roaming ``many`` (else ten times as many) by --times."""
    return (many or 10 * few) * times if roaming else few


def builds(few: int, many: int | None = None) -> int:
    """How many random builds a law is tried on: as many as the command says, else as ``cases``."""
    return laws or cases(few, many)
