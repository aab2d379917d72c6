"""Measured bars and behaviour rows, and what is fitted from them to correct the mechanics."""
