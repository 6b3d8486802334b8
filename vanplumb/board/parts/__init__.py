"""What stands on a board: parts as outlines, and what a build asks for."""
