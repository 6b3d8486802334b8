"""Days and nights played through, draw by draw."""
