"""The stay as a whole: habits, tanks, budgets, weight."""
