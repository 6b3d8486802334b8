"""Runs of hot water: how they cool, and how long one waits at the tap."""
