"""Changes to a board by hand, and keeping them."""
