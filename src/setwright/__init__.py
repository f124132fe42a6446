"""Setwright: the working companion of a collector-restorer of vacuum-tube sets."""

__version__ = "0.1.0"
