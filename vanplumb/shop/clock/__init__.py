"""The order of work and the clock."""
