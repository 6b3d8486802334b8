"""What is printed of each subject: plain data made of an engine's results."""
