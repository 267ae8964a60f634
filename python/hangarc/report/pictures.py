"""The pictures of a hang sheet, drawn by `hangarc.plot`."""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal

import matplotlib as mpl
import numpy as np

from hangarc import plot
from hangarc._answers import Answer
from hangarc._catalogue import Language
from hangarc._words import LanguageCode, Units
from hangarc.acoustics.aim import axes_off_seats, meets_seats
from hangarc.acoustics.seats import SeatLevels
from hangarc.acoustics.spread import wanted_db
from hangarc.report import crew
from hangarc.report.figures import Figure as FigureOfAnswer
from hangarc.report.figures import plain, ranges
from hangarc.report.page import Picture
from hangarc.report.sound import passes, section_share
from hangarc.report.telling import Telling
from hangarc.search.alignment import arrivals_s
from hangarc.search.system import System, SystemResult

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PNG_DPI = 200

# Pictures of the sound are drawn as large as they are printed, with letters of the sheet's size.
WIDTH_IN = 188.0 / crew.MM_PER_IN
MOST_SECTION_IN, LEVELS_IN = 1.9, 1.9
# Those that stand in files of their own.
FORCES_IN, CLOSING_IN = (7.2, 5.2), (7.2, 4.4)
# What the section's ticks and words take of its height and width.
WORDS_IN = 0.75
PRINTED: Any = {
    "font.size": crew.TEXT_PT,
    "axes.titlesize": "medium",
    "axes.titleweight": 600,
}


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


def draw(
    answer: Answer, *, units: Units = "metric", language: LanguageCode = "en"
) -> list[Drawing]:
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


def draw_for_crew(
    answer: Answer, *, units: Units = "metric", language: LanguageCode = "en"
) -> list[Drawing]:
    """Draw what the crew needs of a hang: the column, and its picks from above.

    Parameters
    ----------
    answer, units, language
        As in `draw`.
    """
    tell = Telling(answer, units, language)
    with mpl.rc_context(crew.typeface()):
        return _crew_drawings(answer, tell)


def draw_system(
    system: System,
    found: SystemResult,
    levels: SeatLevels,
    *,
    units: Units = "metric",
    language: LanguageCode = "en",
) -> list[Drawing]:
    """Draw the pictures of a system: section, plan with levels, arrival times.

    Parameters
    ----------
    system, found, levels
        As in `hangarc.report.joined.joined_sheet`.
    units, language
        As in `compose`.
    """
    said, venue, hung = Language(language), system.venue, found.hung
    names = ", ".join(one.name for one in hung)
    times_s = arrivals_s(hung, levels.position_m, air=system.air)
    feet = units == "us"
    spread = f"{said.number(levels.evenness_db, 1)} dB"

    def drawing(name: str, ax: Axes, **fields: object) -> Drawing:
        key = f"picture.{name.replace('-', '_')}"
        ax.set_title("", loc="left")
        alt = said.word(f"{key}_alt", venue=venue.name, names=names, **fields)
        return Drawing(name, said.word(key), alt, ax)

    with mpl.rc_context({**crew.typeface(), **PRINTED}):
        reach_m = np.ptp(np.vstack([area.profile_m for area in venue.areas]), axis=0)
        high_m = max(one.top_m for one in hung)
        across_m = float(np.ptp(levels.position_m[:, 1]))
        section = _printed_axes(1.1 * high_m / (1.3 * reach_m[0]), 2.8)
        plan = _printed_axes(1.2 * across_m / (1.15 * reach_m[0] + 2.0), 3.2)
        arrivals = _printed_axes(0.25, 2.6)
        plot.system_section(hung, venue, feet=feet, language=language, ax=section)
        plot.seat_plan(levels, venue, hung=hung, feet=feet, language=language, ax=plan)
        plot.arrival_times(
            [one.name for one in hung],
            times_s,
            levels.position_m,
            feet=feet,
            language=language,
            ax=arrivals,
        )
        return [
            drawing("system-section", section),
            drawing("seat-plan", plan, spread=spread),
            drawing("arrivals", arrivals),
        ]


def _figure(
    wide_in: float, height_in: float, layout: Literal["constrained", "compressed"]
) -> Figure:
    """A figure that no window holds, so that none stays open."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(wide_in, height_in), layout=layout)
    FigureCanvasAgg(figure)
    return figure


def _printed_axes(height_over_width: float, most_in: float, share: float = 1.0) -> Axes:
    """Axes as wide as a share of the page and as high as what they show, up to a height."""
    wide_in = share * WIDTH_IN
    height_in = min(most_in, (wide_in - WORDS_IN) * height_over_width + WORDS_IN)
    return _figure(wide_in, height_in, "compressed").add_subplot()


def _crew_drawings(answer: Answer, tell: Telling) -> list[Drawing]:
    return [
        Drawing(
            name, tell.word(f"picture.{name}"), tell.word(f"picture.{name}_alt"), make(answer, tell)
        )
        for name, make in (("column", crew.column), ("plan", crew.plan))
    ]


def _sound_drawings(answer: Answer, tell: Telling) -> list[Drawing]:
    search, venue = answer.search, answer.study.venue
    far_m = max(float(np.max([x for x, _ in area.profile_m])) for area in venue.areas)
    section = _printed_axes(
        1.25 * search.top_m / (far_m + 1.0), MOST_SECTION_IN, section_share(answer)
    )
    site = answer.study.site
    plot.section(
        answer.hang,
        search.tilt_deg,
        search.top_m,
        venue,
        position_m=site.position_m,
        pan_deg=site.pan_deg,
        feet=tell.figures.units == "us",
        language=tell.language,
        ax=section,
    )
    section.set_title("", loc="left")
    return [
        Drawing("section", tell.word("picture.section"), _section_alt(answer, tell), section),
        _level_drawing(answer, tell),
        *_force_drawings(answer, tell),
    ]


def _section_alt(answer: Answer, tell: Telling) -> str:
    met = [throw for throw in answer.throws if throw is not None and meets_seats(throw)]
    reach: str = ""
    if met:
        farthest = tell.text("throw", max(throw.length_m for throw in met))
        reach = plain(tell.say("picture.section_reach", reach=farthest))
    return plain(
        tell.say(
            "picture.section_alt",
            venue=answer.study.venue.name,
            top=tell.fig("length", "search.top_m"),
            trim=tell.fig("length", "pose.trim_m"),
            tilt=tell.fig("tilt", "search.tilt_deg"),
            met=len(met),
            all=len(answer.throws),
            reach=reach,
            off=_off_seats(answer, tell),
        )
    )


def _off_seats(answer: Answer, tell: Telling) -> str:
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
            reasons.setdefault(plain(passes(tell, axis)), []).append(cabinet)
    if not reasons:
        return ""
    named = (
        plain(tell.say(f"picture.section_off_{'some' if len(those) > 1 else 'one'}",
                       cabinets=ranges(those), reason=reason))
        for reason, those in reasons.items()
    )  # fmt: skip
    return plain(tell.say("picture.section_off", off="; ".join(named)))


def _level_drawing(answer: Answer, tell: Telling) -> Drawing:
    """Levels over seats and bands: before and after a search, or of pins that were given."""
    search, venue = answer.search, answer.study.venue
    areas = ", ".join(
        f"{area.name} {tell.text('level', found.mean_db)}"
        for area, found in zip(venue.areas, answer.areas, strict=True)
    )
    values: dict[str, FigureOfAnswer | str] = {
        "found": tell.fig("level", "search.sound.unevenness_db"),
        "below": tell.fig("percent", "search.sound.share_3_db_below"),
        "areas": areas,
    }
    if search.ended == "given":
        alt = plain(tell.say("picture.levels_given_alt", **values))
        return Drawing("levels", tell.word("picture.levels_given"), alt, _level_maps(answer, tell))
    values["straight"] = tell.fig("level", "search.straight_sound.unevenness_db")
    values["straight_below"] = tell.fig("percent", "search.straight_sound.share_3_db_below")
    alt = plain(tell.say("picture.levels_alt", **values))
    return Drawing("levels", tell.word("picture.levels"), alt, _level_maps(answer, tell))


def _level_maps(answer: Answer, tell: Telling) -> Axes:
    """Draw before and after side by side, and give the Axes of after."""
    venue, search, wanted = answer.study.venue, answer.search, wanted_db(answer.study)
    figure = _figure(WIDTH_IN, LEVELS_IN, "constrained")
    given = search.ended == "given"
    maps = [("given" if given else "found", answer.seats, "sound")]
    if not given:
        maps.insert(0, ("straight", answer.straight_seats, "straight_sound"))
    grid = figure.add_gridspec(1, len(maps), width_ratios=(1.0, 1.22)[-len(maps) :])
    for column, (name, heard, sound) in enumerate(maps):
        ax = figure.add_subplot(grid[column])
        last = column == len(maps) - 1
        plot.band_levels(heard, venue, key=last, wanted_db=wanted, language=tell.language, ax=ax)
        unevenness = tell.fig("level", f"search.{sound}.unevenness_db")
        ax.set_title(plain(tell.say(f"picture.level_{name}", unevenness=unevenness)), loc="left")
        if column:
            ax.set_ylabel("")
    return ax


def _force_drawings(answer: Answer, tell: Telling) -> list[Drawing]:
    hang, closing = answer.hang, answer.closing
    above: Mapping[str, Any] = hang.frame.limits
    below: list[Mapping[str, Any]] = [cabinet.limits for cabinet in hang.cabinets]
    if closing is None and answer.joints is not None:
        hinge, rear = answer.joints.hinge_force_n, answer.joints.rear_link_n
        rear_name, limit = tell.word("picture.rear_link"), "rear_link_n"
    elif closing is not None and closing.at_closing is not None:
        hinge, rear = closing.at_closing.hinge_force_n, closing.at_closing.stop_force_n
        rear_name, limit = tell.word("picture.rear_stop"), "stop_n"
    else:
        return []
    hinge_n = np.hypot(hinge[:, 0], hinge[:, 1])
    hinge_name = tell.word("picture.hinge")
    axes = plot.joint_forces(
        {hinge_name: hinge_n.tolist(), rear_name: rear.tolist()},
        limits_n={
            hinge_name: [above.get("hinge_n"), *(part.get("hinge_n") for part in below)],
            rear_name: [above.get(limit), *(part.get(limit) for part in below)],
        },
        bottom=hang.bottom is not None,
        language=tell.language,
        ax=_figure(*FORCES_IN, "constrained").add_subplot(),
    )
    alt = tell.say(
        "picture.forces_alt",
        hinge=tell.text("force", hinge_n.max()),
        hinge_joint=int(hinge_n.argmax()),
        rear=tell.text("force", rear.max()),
        rear_joint=int(rear.argmax()),
    )
    drawings = [Drawing("forces", tell.word("picture.forces"), plain(alt), axes)]
    if closing is not None:
        axes = plot.closing_path(
            closing,
            gear=hang.gear,
            language=tell.language,
            ax=_figure(*CLOSING_IN, "constrained").add_subplot(),
        )
        alt = tell.say("picture.closing_open_alt")
        if closing.closing_force_n is not None:
            alt = tell.say(
                "picture.closing_alt",
                force=tell.fig("force", "closing.closing_force_n"),
                way=tell.text("length", closing.chain_free_m - closing.chain_closed_m),
            )
        drawings.append(Drawing("closing", tell.word("picture.closing"), plain(alt), axes))
    return drawings
