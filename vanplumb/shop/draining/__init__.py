"""Draining: where water stays once every drain and tap is open, and where drains belong."""
