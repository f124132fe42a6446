"""Rectifier supplies in time: which nodes belong to them, and their periodic steady state."""
