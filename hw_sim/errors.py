"""The one error a person can cause here. Imports nothing."""

from __future__ import annotations


class WrongInput(Exception):
    """Something asked for cannot be: the text says what, where, and what to write instead."""
