"""What a van's water system is made of: reading, checking and saving the build file."""

from .model import Build, Port
from .problems import BuildError, Problem
from .read import load, loads
from .save import change, save
from .template import template

__all__ = ["Build", "BuildError", "Port", "Problem", "change", "load", "loads", "save", "template"]
