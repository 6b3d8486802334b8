"""What is measured at the finished van, against what was computed."""
