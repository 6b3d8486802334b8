"""What every worksheet is made of."""
