"""The printed formulas: one subject a file, each function one formula."""
