"""Exercises for apprentices: predict, compute, compare."""
