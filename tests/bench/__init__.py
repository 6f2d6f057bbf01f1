"""Measurements, as ratios taken in one run: absolute seconds swing from machine to machine."""
