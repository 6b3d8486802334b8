"""The examples as packs, worked out once in a process: most of what a pack costs is finding it."""

from __future__ import annotations

from functools import cache

from vanplumb import Pack, example


@cache
def pack_of(name: str) -> Pack:
    """The pack of an example.  Only for looking at: a test that puts something in makes its own."""
    return Pack(example(name))
