"""The page about the sound: where each cabinet aims, and what the seats get."""

from __future__ import annotations

from hangarc._answers import Answer
from hangarc.acoustics.aim import EdgeOfSeats, OffSeatsAxis, axes_off_seats
from hangarc.model.seating import seat_counts
from hangarc.report.blocks import Beside, Block, PictureAt, Table, Text
from hangarc.report.figures import Rich, plain
from hangarc.report.limits import constraint_words
from hangarc.report.spread import at_a_seat
from hangarc.report.telling import Telling

# Share of the width that the table of aims takes, and cabinets from which on the section stands
# beside it: a page has no room for both below each other.
AIM_SHARE, TALL = 0.6, 15


def section_share(answer: Answer) -> float:
    """Share of the width that the section takes."""
    return 1.0 if len(answer.hang.cabinets) < TALL else 1.0 - AIM_SHARE


def sound(tell: Telling) -> list[Block]:
    """Everything the third page says."""
    tall = section_share(tell.answer) < 1.0
    section = PictureAt("section")
    return [
        Text(
            [
                _found(tell),
                *at_a_seat(tell),
                _shares(tell),
                *goal(tell),
                *_search(tell),
                *_ends(tell),
            ]
        ),
        *([] if tall else [section]),
        Beside([aim(tell)], [*([section] if tall else []), bands(tell)], AIM_SHARE),
        PictureAt("levels"),
        _areas(tell),
        *_off_seats(tell),
    ]


def _searched(tell: Telling) -> bool:
    """Whether pins were searched, so that there is a best straight hang to compare with."""
    return tell.answer.search.ended != "given"


def _found(tell: Telling) -> Rich:
    if not _searched(tell):
        return tell.say(
            "sound.given",
            found=tell.spread("level", "search.sound.unevenness_db"),
            mean=tell.spread("level", "search.sound.mean_db"),
            tilt=tell.fig("tilt", "search.tilt_deg"),
            top=tell.fig("length", "search.top_m"),
        )
    return tell.say(
        "sound.found",
        found=tell.spread("level", "search.sound.unevenness_db"),
        straight=tell.fig("level", "search.straight_sound.unevenness_db"),
        mean=tell.spread("level", "search.sound.mean_db"),
        straight_mean=tell.fig("level", "search.straight_sound.mean_db"),
        tilt=tell.fig("tilt", "search.tilt_deg"),
        top=tell.fig("length", "search.top_m"),
    )


def _shares(tell: Telling) -> Rich:
    return tell.say(
        "sound.shares",
        colour=tell.fig("level", "search.sound.spectral_spread_db"),
        three=tell.fig("share", "search.sound.share_3_db_below"),
        six=tell.fig("share", "search.sound.share_6_db_below"),
        broadband=tell.fig("level", "search.sound.evenness_db"),
        roughness=tell.fig("angle", "search.sound.roughness_deg"),
    )


def goal(tell: Telling) -> list[Rich]:
    """What was traded against what, in words."""
    goals = tell.answer.study.goals
    if not _searched(tell):
        return [tell.say("sound.levels_note")]
    told = [
        tell.say(
            "sound.measure_bands" if goals.measure == "per band" else "sound.measure_broadband",
            low=tell.fig("band", "study.goals.lowest_hz"),
            high=tell.fig("band", "study.goals.highest_hz"),
        )
    ]
    prices = {
        "level": goals.level_price,
        "roughness": goals.roughness_price,
        "off_seats": goals.off_seats_price,
    }
    told += [
        tell.say(f"sound.price_{name}", price=tell.fig("fine_level", f"study.goals.{name}_price"))
        for name, price in prices.items()
        if price > 0.0
    ]
    return [tuple(part for rich in told for part in (*rich, " "))]


def _search(tell: Telling) -> list[Rich]:
    if not _searched(tell):
        return []
    return [
        tell.say(
            "sound.search",
            ended=tell.state("search_ended", tell.answer.search.ended),
            evaluations=tell.fig("count", "search.evaluations"),
        )
    ]


def _ends(tell: Telling) -> list[Rich]:
    """Ends of ranges at which the answer stands."""
    kinds = {"tilt_deg": ("tilt", "sound.end_tilt"), "top_m": ("length", "sound.end_top")}
    search, told = tell.answer.search, []
    for index, row in enumerate(search.beyond):
        kind, key = kinds[row.variable]
        path = f"search.beyond[{index}]"
        told.append(
            tell.say(
                key if row.missed is None else f"{key}_missed",
                end=tell.fig(kind, f"{path}.end"),
                next=tell.fig(kind, f"{path}.next"),
                change=tell.fig("fine_level", f"{path}.objective_change_db"),
                missed="" if row.missed is None else constraint_words(tell, row.missed),
            )
        )
    return told


def bands(tell: Telling) -> Table:
    """Spread and mean of each third octave."""
    paths = {
        "band_spread": "sound.band_spread_db",
        "band_spread_straight": "straight_sound.band_spread_db",
        "band_mean": "sound.band_mean_db",
    }
    if not _searched(tell):
        del paths["band_spread_straight"]
    columns: list[Rich] = [(tell.word(f"sound.{name}"),) for name in ("band", *paths)]
    rows = [
        [
            tell.cell("band", f"search.sound.band_hz[{band}]"),
            *(tell.cell("bare_level", f"search.{path}[{band}]") for path in paths.values()),
        ]
        for band in range(len(tell.answer.search.sound.band_hz))
    ]
    return Table(tell.word("sound.bands"), columns, rows, figures=(0, 1, 2, 3))


def _off_seats(tell: Telling) -> list[Block]:
    found = tell.answer.search.sound
    if found.off_seats_db is None or not found.off_seats:
        return []
    index, loudest = max(enumerate(found.off_seats), key=lambda row: row[1].level_db)
    areas = tell.answer.study.venue.areas
    block = "" if loudest.index is None or loudest.kind == "named" else areas[loudest.index].name
    where = tell.say(f"sound.off.{loudest.kind}", block=block)
    return [
        Text(
            [
                tell.say(
                    "sound.off_seats",
                    level=tell.fig("level", "search.sound.off_seats_db"),
                    loudest=tell.fig("level", f"search.sound.off_seats[{index}].level_db"),
                    where=where,
                    x=tell.fig("place", f"search.sound.off_seats[{index}].position_m[0]"),
                    z=tell.fig("place", f"search.sound.off_seats[{index}].position_m[2]"),
                )
            ]
        )
    ]


def aim(tell: Telling) -> Table:
    """Pins, and where each cabinet aims."""
    answer = tell.answer
    search, venue = answer.search, answer.study.venue
    passing = axes_off_seats(
        answer.hang,
        search.tilt_deg,
        search.top_m,
        venue,
        position_m=answer.study.site.position_m,
        pan_deg=answer.study.site.pan_deg,
    )
    rows: list[list[Rich]] = []
    for index, throw in enumerate(tell.answer.throws):
        axis = passing[index]
        met: list[Rich] = [("",), (tell.word("sound.no_seats"),)]
        if axis is not None:
            met[1] = passes(tell, axis)
        if throw is not None:
            areas = tell.answer.study.venue.areas
            name = _surface(tell, throw.surface or "")
            if throw.area is not None:
                name = areas[throw.area].name
            met = [tell.cell("throw", f"throws[{index}].length_m"), (name,)]
        splay: Rich = ("",)
        if index < len(tell.answer.search.splays_deg):
            splay = tell.cell("angle", f"search.splays_deg[{index}]")
        rows.append([(str(index + 1),), splay, tell.cell("tilt", f"pose.axis_deg[{index}]"), *met])
    columns: list[Rich] = [
        (tell.word(f"sound.{name}"),) for name in ("cabinet", "splay", "axis", "throw", "meets")
    ]
    return Table(tell.word("sound.pins"), columns, rows, figures=(0, 1, 2, 3))


def _surface(tell: Telling, name: str) -> str:
    """Name what stops an axis: a surface by its own name, a floor by that of its block."""
    for area in tell.answer.study.venue.areas:
        if name == f"floor of {area.name}":
            return plain(tell.say("sound.floor_of", block=area.name))
    return name


def passes(tell: Telling, axis: OffSeatsAxis) -> Rich:
    """Where an axis goes that meets no seat."""
    if axis.surface is not None:
        return tell.say("sound.ends_on", surface=_surface(tell, axis.surface))

    def row(edge: EdgeOfSeats) -> Rich:
        block = tell.answer.study.venue.areas[edge.area].name
        return tell.say(f"sound.{edge.row}_row", block=block)

    if axis.over and axis.under:
        return tell.say("sound.passes_between", over=row(axis.over), under=row(axis.under))
    if axis.over:
        return tell.say("sound.passes_over", row=row(axis.over))
    if axis.under:
        short = axis.under.row == "first"
        key = "sound.passes_short" if short else "sound.passes_below"
        return tell.say(key, row=row(axis.under))
    return (tell.word("sound.no_seats"),)


def _areas(tell: Telling) -> Table:
    venue = tell.answer.study.venue
    counts = seat_counts(venue)
    straight = ("mean_db", "evenness_db") if _searched(tell) else ()
    rows: list[list[Rich]] = []
    for index, (area, count) in enumerate(zip(venue.areas, counts, strict=True)):
        path, before = f"areas[{index}]", f"straight_areas[{index}]"
        rows.append(
            [
                (area.name,),
                (tell.text("count", count),),
                tell.cell("level", f"{path}.mean_db"),
                (
                    tell.fig("bare_level", f"{path}.least_db"),
                    " … ",
                    tell.fig("level", f"{path}.greatest_db"),
                ),
                tell.cell("level", f"{path}.evenness_db"),
                *(tell.cell("level", f"{before}.{name}") for name in straight),
            ]
        )
    names = ["area", "seats", "mean", "range", "evenness"]
    names += ["straight_mean", "straight_evenness"] if straight else []
    columns: list[Rich] = [(tell.word(f"sound.{name}"),) for name in names]
    caption = "".join(
        str(part)
        for part in tell.say("sound.venue", seats=tell.text("count", sum(counts)), venue=venue.name)
    )
    return Table(caption, columns, rows, figures=(1, 2, 3, 4, 5, 6))
