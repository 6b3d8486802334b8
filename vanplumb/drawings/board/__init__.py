"""The board: front view, template, labels."""
