"""sleevewright: raglan conversions and sleeve variants of garment blocks, in batches."""

__version__ = "0.1.0"
