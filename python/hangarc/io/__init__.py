"""Readers and writers of formats that are not our own.

Examples
--------
>>> import hangarc as ha
>>> from hangarc.io import dxf
>>> venue = dxf.read_venue(
...     ha.demo.SECTION_DXF, ha.demo.section_layers(), origin=ha.demo.ORIGIN_LAYER
... )
>>> [area.name for area in venue.areas]
['Stalls', 'Rear stalls', 'Balcony']
"""

from hangarc.io import balloon, dxf, roof_plot

__all__ = ["balloon", "dxf", "roof_plot"]
