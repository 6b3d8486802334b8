"""The record of a van, and what many records say."""
