"""The schematic of a build."""
