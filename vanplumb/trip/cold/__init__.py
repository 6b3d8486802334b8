"""Cold nights, and water that grows when it is heated."""
