"""The bench and the finished van: joints, waiting, tests, disinfection, record, hand-over."""

from .engine import Shop

__all__ = ["Shop"]
