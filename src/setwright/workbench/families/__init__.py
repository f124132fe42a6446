"""Families: the documented history of one chassis or model line, with its versions."""
