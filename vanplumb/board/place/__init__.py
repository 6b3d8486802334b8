"""Where the parts stand, and all that is wrong with a layout."""
