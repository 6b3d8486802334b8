"""Worksheets of the van: one question each."""
