"""Readers and writers of formats that are not our own."""

from hangarc.io import balloon, dxf, roof_plot

__all__ = ["balloon", "dxf", "roof_plot"]
