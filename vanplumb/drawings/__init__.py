"""Pictures: schematic, board, template, charts."""
