"""Where the manifold parts go on their board, what is cut, drilled and bought."""
