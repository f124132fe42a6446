"""Survivors files: small and large registers, read and checked cell by cell."""
