"""bizkit: the business side of outdoor and underwater film and photo work."""

__version__ = "0.1.0"
