"""Readers and writers of formats that are not our own."""

from hangarc.io import dxf

__all__ = ["dxf"]
