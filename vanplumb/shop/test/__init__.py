"""The pressure test and what it says."""
