"""The page about the sound: where each cabinet aims, and what the seats get."""

from __future__ import annotations

from hangarc.acoustics.aim import EdgeOfSeats, OffSeatsAxis, axes_off_seats
from hangarc.model.seating import seat_counts
from hangarc.report.blocks import Beside, Block, PictureAt, Table, Text, halved
from hangarc.report.figures import Rich
from hangarc.report.telling import Telling


def sound(tell: Telling) -> list[Block]:
    """Everything the third page says."""
    return [
        Text([_found(tell), _shares(tell), *_goal(tell), _search(tell), *_ends(tell)]),
        Beside([_aim(tell)], [PictureAt("section"), _bands(tell)], 0.55),
        PictureAt("levels"),
        _areas(tell),
        *_off_seats(tell),
    ]


def _found(tell: Telling) -> Rich:
    return tell.say(
        "sound.found",
        found=tell.fig("level", "search.sound.unevenness_db"),
        straight=tell.fig("level", "search.straight_sound.unevenness_db"),
        mean=tell.fig("level", "search.sound.mean_db"),
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


def _goal(tell: Telling) -> list[Rich]:
    """What was traded against what, in words."""
    goals = tell.answer.study.goals
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


def _search(tell: Telling) -> Rich:
    return tell.say(
        "sound.search",
        status=tell.state("search_state", tell.answer.search.status),
        evaluations=tell.fig("count", "search.evaluations"),
    )


def _ends(tell: Telling) -> list[Rich]:
    """Ends of ranges at which the answer stands."""
    kinds = {"tilt_deg": ("tilt", "sound.end_tilt"), "top_m": ("length", "sound.end_top")}
    told = []
    for index, row in enumerate(tell.answer.search.beyond):
        kind, key = kinds[row.variable]
        path = f"search.beyond[{index}]"
        told.append(
            tell.say(
                key if row.missed is None else f"{key}_missed",
                end=tell.fig(kind, f"{path}.end"),
                next=tell.fig(kind, f"{path}.next"),
                change=tell.fig("fine_level", f"{path}.objective_change_db"),
                missed=row.missed or "",
            )
        )
    return told


def _bands(tell: Telling) -> Table:
    columns: list[Rich] = [
        (tell.word(f"sound.{name}"),)
        for name in ("band", "band_spread", "band_spread_straight", "band_mean")
    ]
    paths = ("sound.band_spread_db", "straight_sound.band_spread_db", "sound.band_mean_db")
    rows = [
        [
            tell.cell("band", f"search.sound.band_hz[{band}]"),
            *(tell.cell("bare_level", f"search.{path}[{band}]") for path in paths),
        ]
        for band in range(len(tell.answer.search.sound.band_hz))
    ]
    return halved(Table(tell.word("sound.bands"), columns, rows, figures=(0, 1, 2, 3)))


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


def _aim(tell: Telling) -> Table:
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
            met[1] = _passes(tell, axis)
        if throw is not None:
            areas = tell.answer.study.venue.areas
            name = throw.surface if throw.area is None else areas[throw.area].name
            met = [tell.cell("throw", f"throws[{index}].length_m"), (str(name),)]
        splay: Rich = ("",)
        if index < len(tell.answer.search.splays_deg):
            splay = tell.cell("angle", f"search.splays_deg[{index}]")
        rows.append([(str(index + 1),), splay, tell.cell("tilt", f"pose.axis_deg[{index}]"), *met])
    columns: list[Rich] = [
        (tell.word(f"sound.{name}"),) for name in ("cabinet", "splay", "axis", "throw", "meets")
    ]
    return Table(tell.word("sound.pins"), columns, rows, figures=(0, 1, 2, 3))


def _passes(tell: Telling, axis: OffSeatsAxis) -> Rich:
    """Where an axis goes that meets no seat."""

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
                tell.cell("level", f"{before}.mean_db"),
                tell.cell("level", f"{before}.evenness_db"),
            ]
        )
    names = ("area", "seats", "mean", "range", "evenness", "straight_mean", "straight_evenness")
    columns: list[Rich] = [(tell.word(f"sound.{name}"),) for name in names]
    caption = "".join(
        str(part)
        for part in tell.say("sound.venue", seats=tell.text("count", sum(counts)), venue=venue.name)
    )
    return Table(caption, columns, rows, figures=(1, 2, 3, 4, 5, 6))
