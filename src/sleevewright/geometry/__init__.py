"""Curves alone; knows no garment. Millimetres, y up, degrees counter-clockwise."""

from sleevewright.geometry.affine import Affine
from sleevewright.geometry.curve import Curve
from sleevewright.geometry.fairing import FairingError, bridge, fair_curve, find_root

__all__ = ["Affine", "Curve", "FairingError", "bridge", "fair_curve", "find_root"]
