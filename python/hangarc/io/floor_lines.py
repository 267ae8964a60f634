"""Which floor lines does a layer of a drawing show? Pieces that meet are joined end to end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING

from hangarc._errors import InputError

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfgfx import DXFGraphic

Corner = tuple[float, float]
FloorLine = list[Corner]

STRAIGHT = frozenset({"LINE", "LWPOLYLINE", "POLYLINE"})
CURVED = frozenset({"ARC", "CIRCLE", "ELLIPSE", "SPLINE"})

# Ends closer than this, in metres, are one corner.
JOIN_M = 1e-4


def on_layer(drawing: Drawing, field: str, layer: str) -> list[DXFGraphic]:
    """The entities of a layer; a layer that is not there is refused by name."""
    entities = list(drawing.modelspace())
    found = [e for e in entities if e.dxf.layer.casefold() == str(layer).casefold()]
    if not found and str(layer) not in drawing.layers:
        there = {e.dxf.layer for e in entities} | {known.dxf.name for known in drawing.layers}
        raise InputError(field, layer, f"one of the drawing's layers {', '.join(sorted(there))}")
    return found


def held(entities: Iterable[DXFGraphic]) -> str:
    """What entities there are, in words."""
    counts = Counter(entity.dxftype() for entity in entities)
    return ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items())) or "nothing"


def floor_lines(
    drawing: Drawing, layer: str, height_axis: int, units_per_m: float, flatten_m: float | None
) -> list[FloorLine]:
    """Every floor line that a layer shows, as corners along it."""
    entities = on_layer(drawing, "layers", layer)
    pieces: list[FloorLine] = []
    for entity in entities:
        kind = entity.dxftype()
        if kind in STRAIGHT or kind in CURVED:
            pieces.append(_corners(entity, layer, height_axis, units_per_m, flatten_m))
    if not pieces:
        raise InputError(
            "layers",
            layer,
            f"a layer with {', '.join(sorted(STRAIGHT))}; it holds {held(entities)}",
        )
    return _joined(pieces, layer, JOIN_M * units_per_m)


def _corners(
    entity: DXFGraphic,
    layer: str,
    height_axis: int,
    units_per_m: float,
    flatten_m: float | None,
) -> FloorLine:
    from ezdxf.path import make_path

    kind = entity.dxftype()
    path = make_path(entity)
    if path.has_curves and flatten_m is None:
        raise InputError(
            "layers", layer, f"straight floor lines, or flatten_m; a {kind} on it is curved"
        )
    points = list(path.flattening(units_per_m * flatten_m if flatten_m else 1.0))
    depth_axis = 3 - height_axis
    depths = [point[depth_axis] for point in points]
    if max(depths) - min(depths) > JOIN_M * units_per_m:
        raise InputError(
            "layers", layer, f"a section in one plane; a {kind} on it leaves the plane of up"
        )
    corners = [(point[0], point[height_axis]) for point in points]
    distinct = [corner for i, corner in enumerate(corners) if i == 0 or corner != corners[i - 1]]
    if len(distinct) < 2:
        raise InputError("layers", layer, f"floor lines with a length; a {kind} on it has none")
    return distinct


def _joined(pieces: list[FloorLine], layer: str, within: float) -> list[FloorLine]:
    """Join pieces that meet end to end; a corner where three ends meet is refused."""

    def meet(a: Corner, b: Corner) -> bool:
        return abs(a[0] - b[0]) <= within and abs(a[1] - b[1]) <= within

    ends = [end for piece in pieces for end in (piece[0], piece[-1])]
    for end in ends:
        if sum(meet(end, other) for other in ends) > 2:
            raise InputError("layers", layer, f"lines without branches; three ends meet at {end}")
    waiting = list(pieces)
    lines: list[FloorLine] = []
    while waiting:
        line = waiting.pop(0)
        grown = True
        while grown:
            grown = False
            for index, piece in enumerate(waiting):
                if meet(line[-1], piece[0]):
                    line = line + piece[1:]
                elif meet(line[-1], piece[-1]):
                    line = line + piece[-2::-1]
                elif meet(line[0], piece[-1]):
                    line = piece + line[1:]
                elif meet(line[0], piece[0]):
                    line = piece[:0:-1] + line
                else:
                    continue
                del waiting[index]
                grown = True
                break
        if meet(line[0], line[-1]):
            raise InputError("layers", layer, f"open floor lines; one closes at {line[0]}")
        lines.append(line)
    return lines


def outline(
    drawing: Drawing, layer: str, units_per_m: float, flatten_m: float | None
) -> list[Corner]:
    """The corners of the one closed line on a layer, the first not repeated."""
    entities = on_layer(drawing, "layers", layer)
    drawn = [entity for entity in entities if entity.dxftype() in STRAIGHT | CURVED]
    pieces = [_corners(entity, layer, 1, units_per_m, flatten_m) for entity in drawn]
    within = JOIN_M * units_per_m
    refused = InputError("layers", layer, f"a layer with one closed line; it holds {held(drawn)}")
    if len(pieces) == 1 and _meet(pieces[0][0], pieces[0][-1], within):
        return pieces[0][:-1]
    if len(pieces) < 2:
        raise refused
    # Lines that close on each other: all but the last make one, which that one closes.
    *most, last = pieces
    joined = _joined(most, layer, within)
    if len(joined) != 1:
        raise refused
    (line,) = joined
    for closing in (last, last[::-1]):
        if _meet(line[-1], closing[0], within) and _meet(line[0], closing[-1], within):
            return line + closing[1:-1]
    raise refused


def _meet(a: Corner, b: Corner, within: float) -> bool:
    return abs(a[0] - b[0]) <= within and abs(a[1] - b[1]) <= within
