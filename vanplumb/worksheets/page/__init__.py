"""Pages that hold several worksheets, and the menu of vans."""
