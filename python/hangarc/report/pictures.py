"""The pictures of a hang sheet, drawn by `hangarc.plot`."""

from __future__ import annotations

import dataclasses
import io
import math
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np

from hangarc import plot
from hangarc._answers import Answer
from hangarc.acoustics.aim import axes_off_seats, meets_seats
from hangarc.acoustics.seats import SeatLevels
from hangarc.acoustics.spread import wanted_db
from hangarc.report import crew
from hangarc.report.figures import ranges
from hangarc.report.page import Picture
from hangarc.report.telling import Telling
from hangarc.search.alignment import arrivals_s
from hangarc.search.system import System, SystemResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PNG_DPI = 200

# Pictures of the sound are drawn as large as they are printed, with letters of the sheet's size.
WIDTH_IN = 188.0 / crew.MM_PER_IN
SECTION_IN, LEVELS_IN = (80.0 / crew.MM_PER_IN, 2.1), 2.0
PRINTED: Any = {
    "font.size": crew.TEXT_PT,
    "axes.titlesize": "medium",
    "axes.titleweight": 600,
}


def kilo(force_n: float | None) -> str:
    """Give a force in kilonewtons."""
    return "none" if force_n is None else f"{force_n / 1e3:.2f} kN"


def length(length_m: float) -> str:
    """Give a length in metres."""
    return f"{length_m:.2f} m"


def angle(angle_deg: float) -> str:
    """Give an angle in degrees, without needless zeros."""
    return f"{round(float(angle_deg), 2) + 0.0:g}°"


def level(level_db: float) -> str:
    """Give a level."""
    return f"{level_db:.1f} dB"


def percent(share: float) -> str:
    """Give a share in whole percent, rounded up so that it never flatters."""
    return f"{math.ceil(round(100.0 * share, 6))} %"


@dataclasses.dataclass(frozen=True)
class Drawing:
    """A drawn picture with its file name and its words."""

    name: str
    caption: str
    alt: str
    axes: Axes

    @property
    def figure(self) -> Figure:
        """The figure the axes stand in."""
        return self.axes.get_figure(root=True)  # type: ignore[return-value]

    def svg(self) -> str:
        """Write as SVG, the same text for the same picture."""
        return self._saved(
            "svg", dpi=PNG_DPI, metadata={"Date": None, "Title": self.caption}
        ).decode("utf-8")

    def png(self) -> bytes:
        """Write as PNG."""
        return self._saved("png", dpi=PNG_DPI)

    def picture(self) -> Picture:
        """Give what `report.html` takes."""
        return Picture(self.name, self.caption, self.alt, self.svg())

    def _saved(self, kind: str, **options: object) -> bytes:
        file = io.BytesIO()
        with mpl.rc_context({"svg.hashsalt": self.name}):
            self.figure.savefig(file, format=kind, **options)  # type: ignore[arg-type]
        return file.getvalue()


def draw(answer: Answer, *, units: str = "metric", language: str = "en") -> list[Drawing]:
    """Draw every picture of the sheet.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    units, language
        As in `compose`.

    Returns
    -------
    list of Drawing

    Raises
    ------
    InputError
        As `compose`.
    """
    tell = Telling(answer, units, language)
    with mpl.rc_context({**crew.typeface(), **PRINTED}):
        return [*_crew_drawings(answer, tell), *_sound_drawings(answer, tell)]


def draw_for_crew(answer: Answer, *, units: str = "metric", language: str = "en") -> list[Drawing]:
    """Draw what the crew needs of a hang: the column, and its picks from above.

    Parameters
    ----------
    answer, units, language
        As in `draw`.
    """
    tell = Telling(answer, units, language)
    with mpl.rc_context(crew.typeface()):
        return _crew_drawings(answer, tell)


def draw_system(system: System, found: SystemResult, levels: SeatLevels) -> list[Drawing]:
    """Draw the pictures of a system: section, plan with levels, arrival times.

    Parameters
    ----------
    system, found, levels
        As in `hangarc.report.joined.joined_sheet`.
    """
    venue, hung = system.venue, found.hung
    names = [one.name for one in hung]
    times_s = arrivals_s(hung, levels.position_m, air=system.air)
    with mpl.rc_context(crew.typeface()):
        return [
            Drawing(
                "system-section",
                "Section with every hang and its axes.",
                f"Side view of {venue.name} with {', '.join(names)}.",
                plot.system_section(hung, venue),
            ),
            Drawing(
                "seat-plan",
                "Level at every place over the mean of the seats, all hangs together.",
                f"Floor plan; spread of the levels {level(levels.evenness_db)}.",
                plot.seat_plan(levels, venue, hung=hung),
            ),
            Drawing(
                "arrivals",
                "When each hang arrives after the one that is heard first.",
                f"Times of {', '.join(names)} over the distance of the places.",
                plot.arrival_times(names, times_s, levels.position_m),
            ),
        ]


def _crew_drawings(answer: Answer, tell: Telling) -> list[Drawing]:
    return [
        Drawing(
            name, tell.word(f"picture.{name}"), tell.word(f"picture.{name}_alt"), make(answer, tell)
        )
        for name, make in (("column", crew.column), ("plan", crew.plan))
    ]


def _sound_drawings(answer: Answer, tell: Telling) -> list[Drawing]:
    import matplotlib.pyplot as plt

    search, venue = answer.search, answer.study.venue
    section = plt.figure(figsize=SECTION_IN, layout="constrained").add_subplot()
    plot.section(answer.hang, search.tilt_deg, search.top_m, venue, ax=section)
    section.set_title("", loc="left")
    met = [throw for throw in answer.throws if throw is not None and meets_seats(throw)]
    reach = f", the farthest {max(t.length_m for t in met):.1f} m away" if met else ""
    drawings = [
        Drawing(
            "section",
            tell.word("picture.section"),
            f"Side view of {venue.name}: the hang's top hinge at {length(search.top_m)}, its "
            f"lowest point at {length(answer.pose.trim_m)}, tilt {angle(search.tilt_deg)}. "
            f"{len(met)} of {len(answer.throws)} axes meet seats{reach}.{_off_seats(answer)}",
            section,
        ),
        Drawing(
            "levels",
            tell.word("picture.levels"),
            f"Two maps, rows of seats across and third octaves up, each band over its own mean. "
            f"Unevenness over seats and bands falls from "
            f"{level(search.straight_sound.unevenness_db)} for the best straight hang to "
            f"{level(search.unevenness_db)}; of the seats and bands "
            f"{percent(search.straight_sound.share_3_db_below)} and "
            f"{percent(search.sound.share_3_db_below)} lie more than 3 dB below their band's mean. "
            f"Means by area: "
            + ", ".join(
                f"{area.name} {level(found.mean_db)}"
                for area, found in zip(venue.areas, answer.areas, strict=True)
            )
            + ".",
            _level_maps(answer),
        ),
    ]
    drawings += _force_drawings(answer)
    return drawings


def _level_maps(answer: Answer) -> Axes:
    """Draw before and after side by side, and give the Axes of after."""
    import matplotlib.pyplot as plt

    venue, search, wanted = answer.study.venue, answer.search, wanted_db(answer.study)
    figure = plt.figure(figsize=(WIDTH_IN, LEVELS_IN), layout="constrained")
    grid = figure.add_gridspec(1, 2, width_ratios=(1.0, 1.22))
    before, after = (figure.add_subplot(grid[column]) for column in (0, 1))
    for name, heard, sound, ax in (
        ("best straight hang", answer.straight_seats, search.straight_sound, before),
        ("found pins", answer.seats, search.sound, after),
    ):
        plot.band_levels(heard, venue, key=ax is after, wanted_db=wanted, ax=ax)
        ax.set_title(f"{name}: unevenness {sound.unevenness_db:.1f} dB", loc="left")
    after.set_ylabel("")
    return after


def _off_seats(answer: Answer) -> str:
    """Name the axes that meet no seat, with the reason; like ones together."""
    found = axes_off_seats(
        answer.hang,
        answer.search.tilt_deg,
        answer.search.top_m,
        answer.study.venue,
        position_m=answer.study.site.position_m,
        pan_deg=answer.study.site.pan_deg,
    )
    reasons: dict[str, list[int]] = {}
    for cabinet, axis in enumerate(found, start=1):
        if axis is not None:
            reasons.setdefault(axis.reason(answer.study.venue), []).append(cabinet)
    if not reasons:
        return ""
    named = (
        f"cabinet{'s' if len(those) > 1 else ''} {ranges(those)} {reason}"
        for reason, those in reasons.items()
    )
    return " No seats: " + "; ".join(named) + "."


def _force_drawings(answer: Answer) -> list[Drawing]:
    hang, closing = answer.hang, answer.closing
    above, below = hang.frame.limits, [cabinet.limits for cabinet in hang.cabinets]
    if closing is None and answer.joints is not None:
        hinge, rear = answer.joints.hinge_force_n, answer.joints.rear_link_n
        rear_name = "rear link, pulled"
        rear_limits = [above.get("rear_link_n"), *(part.get("rear_link_n") for part in below)]
    elif closing is not None and closing.at_closing is not None:
        hinge, rear = closing.at_closing.hinge_force_n, closing.at_closing.stop_force_n
        rear_name = "rear stop, pressed"
        rear_limits = [above.get("stop_n"), *(part.get("stop_n") for part in below)]
    else:
        return []
    hinge_n = np.hypot(hinge[:, 0], hinge[:, 1])
    hinge_limits = [above.get("hinge_n"), *(part.get("hinge_n") for part in below)]
    axes = plot.joint_forces(
        {"front hinge": hinge_n.tolist(), rear_name: rear.tolist()},
        limits_n={"front hinge": hinge_limits, rear_name: rear_limits},
        bottom=hang.bottom is not None,
    )
    drawings = [
        Drawing(
            "forces",
            "Forces at the joints, top to bottom.",
            f"Bars joint by joint. Greatest hinge force {kilo(hinge_n.max())} at joint "
            f"{int(hinge_n.argmax())}; greatest rear force {kilo(rear.max())} at joint "
            f"{int(rear.argmax())}.",
            axes,
        )
    ]
    if closing is not None:
        drawings.append(
            Drawing(
                "closing",
                "Chain force while the rear closes.",
                f"Chain force against shortening. It ends at {kilo(closing.closing_force_n)} after "
                f"{length(closing.chain_free_m - closing.chain_closed_m)}.",
                plot.closing_path(closing, gear=hang.gear),
            )
        )
    return drawings
