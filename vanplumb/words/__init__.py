"""The ground floor: words, sources, units, tables, formulas and worked steps."""
