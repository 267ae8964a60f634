"""The sheets of several hangs in one document, after a page about the system they make."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from hangarc._answers import Answer
from hangarc._words import LanguageCode, Units
from hangarc.acoustics.seats import SeatLevels, area_levels
from hangarc.report.blocks import Beside, Block, Page, PictureAt, Sheet, Table, Text
from hangarc.report.content import assumed, compose, running
from hangarc.report.figures import Rich, plain
from hangarc.report.objections import objections
from hangarc.report.page import Picture
from hangarc.report.sound import AIM_SHARE, aim, bands, goal
from hangarc.report.telling import Telling
from hangarc.search.alignment import arrivals_s
from hangarc.search.system import System, SystemResult


def joined_sheet(
    system: System,
    found: SystemResult,
    answers: dict[str, Answer],
    levels: SeatLevels,
    units: Units = "metric",
    language: LanguageCode = "en",
    readings_files: Mapping[str, str] | None = None,
) -> Sheet:
    """Put a page about the system, the crew's pages of its hangs, and one about sound together.

    Parameters
    ----------
    system : System
        The question.
    found : SystemResult
        What was found.
    answers : dict of str to Answer
        By hang's name, the answer of its study in `found.studies`.
    levels : SeatLevels
        Levels at the seats of all hangs together.
    units, language
        As in `compose`.
    readings_files : mapping of str to str, optional
        By hang's name, the name of its form for the readings.
    """
    named = readings_files or {}
    tells = {name: Telling(answer, units, language) for name, answer in answers.items()}
    first = next(iter(tells.values()))
    words = first.words
    pages = [
        Page(
            words.word("system.page"),
            [*_stopped(tells), *_system_blocks(system, found, levels, first)],
        )
    ]
    for name, answer in answers.items():
        # The seats hear all hangs together: one page says what they get.
        file = named.get(name, "readings.csv")
        *crew, _ = compose(answer, units=units, language=language, readings_file=file).pages
        head = f"{words.word('stop.head')} · {name}" if objections(tells[name]) else name
        for page in crew:
            blocks = [_renamed(block, name) for block in page.blocks]
            pages.append(Page(f"{head}: {page.title}", blocks))
    pages.append(Page(words.word("page.sound"), _sound_blocks(tells)))
    return dataclasses.replace(
        compose(first.answer, units=units, language=language),
        title=system.name,
        running=running(first, system.name),
        pages=pages,
    )


def _stopped(tells: dict[str, Telling]) -> list[Block]:
    """The hangs that are not to be hung, before anything else."""
    told = [
        tell.say("system.stopped", hang=name, reason=reason)
        for name, tell in tells.items()
        for reason in objections(tell)
    ]
    head = next(iter(tells.values())).word("stop.head")
    return [Text(told, title=head, loud=True)] if told else []


def _sound_blocks(tells: dict[str, Telling]) -> list[Block]:
    """Where the cabinets of each hang aim, and what the seats get of all together."""
    first = next(iter(tells.values()))
    aims: list[Block] = [
        dataclasses.replace(aim(tell), caption=plain(tell.say("system.aim", hang=name)))
        for name, tell in tells.items()
    ]
    heard = dataclasses.replace(bands(first), caption=first.word("system.bands"))
    return [
        Text(goal(first)),
        Beside(aims, [heard], AIM_SHARE),
        PictureAt("arrivals"),
        assumed(first, sound=True),
    ]


def joined_pictures(pictures: dict[str, Sequence[Picture]]) -> list[Picture]:
    """Give the pictures of several hangs, and of the system under ``""``, names of their own."""
    return [
        dataclasses.replace(picture, name=_own(name, picture.name))
        for name, of_hang in pictures.items()
        for picture in of_hang
    ]


def _own(hang: str, picture: str) -> str:
    return f"{hang}: {picture}" if hang else picture


def _renamed(block: Block, hang: str) -> Block:
    """The block with the names of its pictures those of the hang."""
    if isinstance(block, PictureAt):
        return dataclasses.replace(block, name=_own(hang, block.name))
    if isinstance(block, Beside):
        left, right = ([_renamed(one, hang) for one in side] for side in (block.left, block.right))
        return dataclasses.replace(block, left=left, right=right)
    return block


def _system_blocks(
    system: System, found: SystemResult, levels: SeatLevels, tell: Telling
) -> list[Block]:
    words, text = tell.words, tell.text

    def heads(*names: str) -> list[Rich]:
        return [(words.word(f"system.{name}"),) for name in names]

    number = words.number
    hangs = Table(
        words.word("system.hangs"),
        heads("hang", "cabinets", "x", "y", "pan", "top", "tilt", "feed", "delay", "gain"),
        [
            _row(
                one.name,
                len(one.hang.cabinets),
                *(text("place", value) for value in one.site.position_m),
                text("tilt", one.site.pan_deg),
                text("length", one.top_m),
                text("tilt", one.tilt_deg),
                one.site.feed,
                number(1000.0 * one.site.delay_s, 2),
                number(one.site.gain_db, 1),
            )
            for one in found.hung
        ],
        figures=(1, 2, 3, 4, 5, 6, 8, 9),
    )
    told = words.say(
        "system.found",
        found=number(found.unevenness_db, 2),
        alone=number(found.one_by_one_db, 2),
        turns=str(len(found.turns)),
        end=words.word(f"system.{found.ended}"),
    )
    areas = Table(
        words.word("system.levels"),
        heads("block", "mean", "least", "greatest", "spread", "first"),
        [
            _row(
                area.name,
                *(number(value, 1) for value in (heard.mean_db, heard.least_db)),
                *(number(value, 1) for value in (heard.greatest_db, heard.evenness_db)),
                _first(system, found, levels, index),
            )
            for index, (area, heard) in enumerate(
                zip(system.venue.areas, area_levels(levels), strict=True)
            )
        ],
        figures=(1, 2, 3, 4),
    )
    return [
        hangs,
        Text([told]),
        areas,
        PictureAt("system-section"),
        PictureAt("seat-plan"),
    ]


def _first(system: System, found: SystemResult, levels: SeatLevels, area: int) -> str:
    """Which hangs are heard first in an area, and at what share of its places."""
    here = levels.position_m[levels.area == area]
    first = np.argmin(arrivals_s(found.hung, here, air=system.air), axis=0)
    shares = np.bincount(first, minlength=len(found.hung)) / max(len(here), 1)
    order = np.argsort(-shares)
    return ", ".join(
        f"{found.hung[i].name} {100.0 * shares[i]:.0f} %" for i in order if shares[i] > 0.0
    )


def _row(*cells: Any) -> list[tuple[str]]:
    return [(str(cell),) for cell in cells]
