"""A small drawing to scale, as SVG that needs no other package and is made in a millisecond.

Pictures for print and study are drawn by `hangarc.plot`; this is for what a notebook shows beside
a table, and for the many states of one picture that a lesson steps through.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Literal
from xml.etree import ElementTree

import numpy as np
from numpy.typing import ArrayLike

from hangarc._colours import INK, PALE
from hangarc._display import image

LETTER_PX = 11.5
HEAD_PX = 9.0
DOWN = np.array([0.0, 1.0])

Anchor = Literal["start", "middle", "end"]


class Drawing:
    """Points are given as the subject has them, in metres or whatever the axes mean."""

    def __init__(
        self,
        points: ArrayLike,
        *,
        width_px: float = 340.0,
        height_px: float = 260.0,
        margin_px: tuple[float, float, float, float] = (12.0, 12.0, 12.0, 12.0),
        same_scale: bool = True,
        words: str = "",
    ) -> None:
        """Lay out a sheet that shows all `points`; margins are left, top, right, bottom."""
        all_points = np.asarray(points, float).reshape(-1, 2)
        low, high = all_points.min(axis=0), all_points.max(axis=0)
        size = np.maximum(high - low, 1e-9)
        left, top, right, bottom = margin_px
        room = np.array([width_px - left - right, height_px - top - bottom])
        scale = room / size
        if same_scale:
            scale = np.full(2, scale.min())
        self.scale_px = scale
        taken = scale * size
        if same_scale:
            width_px, height_px = float(taken[0]) + left + right, float(taken[1]) + top + bottom
        self._origin = np.array([left - scale[0] * low[0], top + scale[1] * high[1]])
        self.width_px, self.height_px = width_px, height_px
        self._svg = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {width_px:.0f} {height_px:.0f}",
                "width": f"{width_px:.0f}",
                "height": f"{height_px:.0f}",
                "style": "background:#fff;max-width:100%;height:auto",
                "font-family": "sans-serif",
                "font-size": f"{LETTER_PX:g}",
                "role": "img",
            },
        )
        self._about = words
        if words:
            ElementTree.SubElement(self._svg, "title").text = words

    def px(self, point: ArrayLike) -> Any:
        """Where a point lies on the sheet, in pixels from its upper left corner."""
        at = np.asarray(point, float)
        return self._origin + at * self.scale_px * (1.0, -1.0)

    def _add(self, kind: str, **attributes: object) -> ElementTree.Element:
        named = {name.replace("_", "-"): str(value) for name, value in attributes.items()}
        return ElementTree.SubElement(self._svg, kind, named)

    def _path(self, points: Iterable[Any]) -> str:
        return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)

    def polygon(self, points: ArrayLike, fill: str = PALE, edge: str = INK) -> None:
        """Fill an outline."""
        path = self._path(self.px(point) for point in np.asarray(points, float))
        self._add("polygon", points=path, fill=fill, stroke=edge, stroke_width=1)

    def line(
        self, points: ArrayLike, colour: str = INK, width: float = 1.2, dash: str = ""
    ) -> None:
        """Draw a line through points."""
        path = self._path(self.px(point) for point in np.asarray(points, float))
        dashed = {"stroke_dasharray": dash} if dash else {}
        self._add("polyline", points=path, fill="none", stroke=colour, stroke_width=width, **dashed)

    def line_px(self, points: ArrayLike, colour: str = INK, width: float = 1.2) -> None:
        """Draw a line through places on the sheet."""
        path = self._path(np.asarray(points, float))
        self._add("polyline", points=path, fill="none", stroke=colour, stroke_width=width)

    def blocks(self, corners: Sequence[ArrayLike], fill: str) -> None:
        """Fill upright rectangles, each given by two opposite corners, without edges."""
        path = []
        for pair in corners:
            ends = np.array([self.px(point) for point in np.asarray(pair, float)])
            (x, y), (wide, high) = ends.min(axis=0), np.ptp(ends, axis=0)
            path.append(f"M{x:.1f} {y:.1f}h{wide + 0.1:.1f}v{high + 0.1:.1f}h-{wide + 0.1:.1f}z")
        if path:
            self._add("path", d="".join(path), fill=fill, shape_rendering="crispEdges")

    def block_px(self, corner_px: ArrayLike, opposite_px: ArrayLike, fill: str) -> None:
        """Fill an upright rectangle on the sheet, without an edge."""
        ends = np.array([corner_px, opposite_px], float)
        (x, y), (wide, high) = ends.min(axis=0), np.ptp(ends, axis=0)
        self._add(
            "rect", x=f"{x:.1f}", y=f"{y:.1f}", width=f"{wide:.1f}", height=f"{high:.1f}",
            fill=fill,
        )  # fmt: skip

    def dot(self, point: ArrayLike, colour: str = INK, radius_px: float = 3.0) -> None:
        """Mark a point."""
        x, y = self.px(point)
        self._add("circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=radius_px, fill=colour)

    def ring(self, point: ArrayLike, colour: str = INK, radius_px: float = 4.0) -> None:
        """Mark a hinge."""
        x, y = self.px(point)
        self._add(
            "circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=radius_px, fill="#fff", stroke=colour,
            stroke_width=1.6,
        )  # fmt: skip

    def arrow(
        self,
        start: ArrayLike,
        by_px: ArrayLike,
        colour: str = INK,
        width: float = 2.2,
        *,
        ends_there: bool = False,
    ) -> Any:
        """Draw an arrow from a point, so many pixels right and up; give its tip in pixels.

        With `ends_there` the tip is at the point, and the arrow comes to it.
        """
        way = np.asarray(by_px, float) * (1.0, -1.0)
        long_px = math.hypot(*way)
        tail = self.px(start)
        if ends_there:
            tail = tail - way
        tip = tail + way
        if long_px < 0.5:
            return tip
        along = way / long_px
        across = np.array([-along[1], along[0]])
        head = min(HEAD_PX, long_px)
        neck = tip - along * head
        self._add(
            "polyline", points=self._path([tail, neck]), fill="none", stroke=colour,
            stroke_width=width,
        )  # fmt: skip
        barbs = [tip, neck + across * head * 0.38, neck - across * head * 0.38]
        self._add("polygon", points=self._path(barbs), fill=colour)
        return tip

    def turn(
        self,
        centre: ArrayLike,
        from_deg: float,
        to_deg: float,
        radius_px: float,
        colour: str = INK,
        *,
        head: bool = True,
    ) -> None:
        """Draw an arc between two elevations, with a head at its end; none too small to see."""
        if math.radians(abs(to_deg - from_deg)) * radius_px < 0.5:
            return
        middle = self.px(centre)
        angles = np.radians(np.linspace(from_deg, to_deg, 25))
        points = middle + radius_px * np.column_stack([np.cos(angles), -np.sin(angles)])
        self._add(
            "polyline", points=self._path(points), fill="none", stroke=colour, stroke_width=1.6
        )
        if head:
            way = points[-1] - points[-3]
            way = way / math.hypot(*way)
            side = np.array([-way[1], way[0]])
            tip = points[-1] + way * 2.0
            back = tip - way * 7.0
            barbs = [tip, back + side * 3.2, back - side * 3.2]
            self._add("polygon", points=self._path(barbs), fill=colour)

    def words(
        self,
        point: ArrayLike,
        text: str,
        colour: str = INK,
        *,
        by_px: Sequence[float] = (0.0, 0.0),
        anchor: Anchor = "start",
        bold: bool = False,
    ) -> None:
        """Write beside a point, so many pixels right and up of it."""
        x, y = self.px(point)
        self.words_px((x + by_px[0], y - by_px[1]), text, colour, anchor=anchor, bold=bold)

    def words_px(
        self,
        at_px: ArrayLike,
        text: str,
        colour: str = INK,
        *,
        anchor: Anchor = "start",
        bold: bool = False,
    ) -> None:
        """Write at a place on the sheet."""
        x, y = np.asarray(at_px, float)
        weight = {"font_weight": "bold"} if bold else {}
        self._add(
            "text", x=f"{x:.1f}", y=f"{y + 4.0:.1f}", fill=colour, text_anchor=anchor,
            stroke="#fff", stroke_width=3, paint_order="stroke", **weight,
        ).text = text  # fmt: skip

    def axes(
        self,
        x: tuple[Sequence[float], str],
        y: tuple[Sequence[float], str],
        *,
        origin: tuple[float, float],
        names: Sequence[str] = (),
        downward: bool = False,
    ) -> None:
        """Draw two axes that meet at `origin`, each with its ticks and its title.

        With `downward` the figures of the upright axis count from the top down.
        """
        (x_ticks, x_title), (y_ticks, y_title) = x, y
        left, base = self.px(origin)
        right, top = self.px((x_ticks[-1], y_ticks[-1] if y_ticks else origin[1]))
        for ends in (((left, base), (right, base)), ((left, base), (left, top))):
            self._add("polyline", points=self._path(ends), fill="none", stroke=INK, stroke_width=1)
        for index, tick in enumerate(x_ticks):
            at = self.px((tick, origin[1]))
            self._add("polyline", points=self._path([at, at + DOWN * 4]), fill="none", stroke=INK)
            name = names[index] if names else f"{tick:g}"
            self.words_px(at + DOWN * 13, name, anchor="middle")
        for tick in y_ticks:
            at = self.px((origin[0], tick))
            self._add("polyline", points=self._path([at, at - (4, 0)]), fill="none", stroke=INK)
            figure = -tick + 0.0 if downward else tick
            self.words_px(at - (7, 0), f"{figure:g}", anchor="end")
        self.words_px(((left + right) / 2, base + 29), x_title, anchor="middle")
        self.words_px((left - 30, top - 14), y_title)

    def __repr__(self) -> str:
        return f"Drawing({self._about!r})"

    def svg(self) -> str:
        """Give the drawing as an SVG element."""
        return ElementTree.tostring(self._svg, encoding="unicode")

    def _repr_html_(self) -> str:
        return image(self.svg())


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round numbers that cover the range, at steps of 1, 2 or 5 times a power of ten."""
    span = max(high - low, 1e-9)
    raw = span / (most - 1)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * m for m in (1.0, 2.0, 5.0, 10.0) if power * m >= raw * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(step * i, 9) for i in range(first, last + 1)]
