"""Lessons: predict, see why, answer with figures of your own, measure at the bench."""
