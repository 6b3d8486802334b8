"""What a van's water system is made of: reading, checking and saving the build file."""

from .file.read import load, loads
from .file.template import template
from .file.write import change, save
from .model import Build, Port
from .problems import BuildError, Problem

__all__ = ["Build", "BuildError", "Port", "Problem", "change", "load", "loads", "save", "template"]
