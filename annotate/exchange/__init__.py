"""Annotations in open formats that other programs read."""
