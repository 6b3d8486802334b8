"""Joints: how each is made, sealed and named."""
