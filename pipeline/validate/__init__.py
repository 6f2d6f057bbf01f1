"""Typed records against schema, registers and rules."""
