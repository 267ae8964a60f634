"""Readers and writers of formats that are not our own."""

from hangarc.io import dxf, roof_plot

__all__ = ["dxf", "roof_plot"]
