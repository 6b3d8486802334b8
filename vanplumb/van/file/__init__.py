"""The build file: reading, checking, changing and saving it."""
