"""Charts: one subject a file."""
