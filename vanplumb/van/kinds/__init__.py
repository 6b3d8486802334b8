"""What each kind of pump and heater does: one file a kind of part, asked by every room."""
