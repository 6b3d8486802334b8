"""Readings of a pressure test as a builder writes them down: one line a reading."""

from __future__ import annotations

from ..words.quantity import QuantityError, read
from .leak import Reading


class ReadingsError(ValueError):
    """Lines that are no readings; the message lists them all."""


def read_readings(text: str) -> list[Reading]:
    """Lines such as ``10 min, 98 psi, 66 °F``; the temperature may be left out after the first.

    Blank lines and what follows a ``#`` count for nothing.  ReadingsError names every line
    that can't be read, and why.
    """
    found: list[Reading] = []
    problems: list[str] = []
    temperature: float | None = None
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.split("#")[0].strip()
        if not line:
            continue
        parts = [p.strip() for p in line.replace(";", ",").split(",") if p.strip()]
        if len(parts) not in (2, 3):
            problems.append(f'line {number}: write time, pressure, temperature, got "{line[:40]}"')
            continue
        try:
            time = read(parts[0], "duration")
            pressure = read(parts[1], "pressure")
            if len(parts) == 3:
                temperature = read(parts[2], "temperature")
        except QuantityError as error:
            problems.append(f"line {number}: {error}")
            continue
        if temperature is None:
            problems.append(f"line {number}: the first reading needs a temperature")
            continue
        found.append(Reading(time, pressure, temperature))
    if problems:
        raise ReadingsError("\n".join(problems))
    return found
