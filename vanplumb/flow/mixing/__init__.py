"""Mixing valves: what each is set to, and what it gives when its supplies drift."""
