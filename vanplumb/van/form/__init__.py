"""Making and changing a build file by answers and steps instead of by typing TOML."""
