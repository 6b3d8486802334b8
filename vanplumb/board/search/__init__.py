"""Finding the smallest good board."""
