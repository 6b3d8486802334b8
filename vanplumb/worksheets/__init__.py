"""Interactive pages for notebooks.  Widgets only; every sum is done on a lower floor."""
