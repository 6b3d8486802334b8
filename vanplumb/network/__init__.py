"""A general solver of water lines: nodes, links, batches; it knows no van."""
