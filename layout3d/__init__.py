"""Layout of liquid-cooling loops inside PC cases: one scene file in, a checked build out."""

__version__ = "0.1.0"
