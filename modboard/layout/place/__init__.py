"""Automatic placement by simulated annealing; every hard limit is kept exactly."""

from modboard.layout.place.congestion import Congestion
from modboard.layout.place.placer import place

__all__ = ["Congestion", "place"]
