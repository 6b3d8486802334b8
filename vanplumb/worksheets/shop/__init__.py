"""Worksheets of the bench and the finished van."""
