"""What `hangarc study` writes: the files of one hang, or of a system of several, by name."""

from __future__ import annotations

import dataclasses

from hangarc._answers import Answer, evaluate
from hangarc._words import LanguageCode, Units
from hangarc.report import compose, roof_csv
from hangarc.report.blocks import Sheet
from hangarc.report.joined import joined_pictures, joined_sheet
from hangarc.report.page import Picture, html_of
from hangarc.report.pdf import pdf_of
from hangarc.report.pictures import draw, draw_for_crew, draw_system
from hangarc.report.terminal import text_of
from hangarc.search import System, SystemResult, system_levels
from hangarc.second_opinion import Verification
from hangarc.survey import blank_readings
from hangarc.uncertainty import Uncertainty
from hangarc.work.job import Job

Files = dict[str, bytes]

# After a hang's name in the names of what is its twin's.
TWIN = " (twin)"

# Letters that file names do without.
NOT_IN_FILES = str.maketrans(dict.fromkeys('/\\:*?"<>|', "_"))


def files_of_hang(
    answer: Answer,
    *,
    units: Units,
    language: LanguageCode,
    opinion: Verification | None,
    uncertainty: Uncertainty | None,
) -> Files:
    """Sheet, answer, forms and pictures of one hang.

    Parameters
    ----------
    answer, units, language, opinion, uncertainty
        As in `hangarc.report.compose`.
    """
    drawings = draw(answer, units=units, language=language)
    sheet = compose(
        answer, units=units, language=language, opinion=opinion, uncertainty=uncertainty
    )
    files = {**_sheet(sheet, [one.picture() for one in drawings]), **_of_answer(answer)}
    files["roof.csv"] = roof_csv(answer).encode()
    for one in drawings:
        files[f"{one.name}.svg"] = one.svg().encode()
        files[f"{one.name}.png"] = one.png()
    return files


def files_of_system(
    system: System, found: SystemResult, job: Job, *, units: Units, language: LanguageCode
) -> Files:
    """Sheets of all hangs in one document, and of each hang what is its own.

    Parameters
    ----------
    system, found
        What was asked and what was found.
    job : Job
        Of the whole; each hang has its own name and hangs where its study's site has it.
    units, language
        As in `hangarc.report.compose`.
    """
    answers = {
        name: evaluate(
            study, job=dataclasses.replace(job, hang=study.name, position_m=None, pan_deg=None)
        )
        for name, study in found.studies.items()
    }
    goals = system.hangs[0].goals
    levels = system_levels(
        found.hung,
        system.venue,
        air=system.air,
        lowest_hz=goals.lowest_hz,
        highest_hz=goals.highest_hz,
    )
    drawings = {"": draw_system(system, found, levels, units=units, language=language)}
    for name, answer in answers.items():
        drawings[name] = draw_for_crew(answer, units=units, language=language)
    shown = joined_pictures({name: [one.picture() for one in of] for name, of in drawings.items()})
    forms = {name: own_file(name, "readings.csv") for name in answers}
    files = _sheet(joined_sheet(system, found, answers, levels, units, language, forms), shown)
    files["system.json"] = system.to_json().encode()
    for name, answer in answers.items():
        files |= _of_answer(answer, name)
        files[own_file(name, "roof.csv")] = roof_csv(answer).encode()
        if answer.study.twin is not None:
            files |= _forms(answer, name + TWIN)
            files[own_file(name + TWIN, "roof.csv")] = roof_csv(answer, twin=True).encode()
    for name, of_hang in drawings.items():
        files |= {own_file(name, f"{one.name}.png"): one.png() for one in of_hang}
    return files


def own_file(hang: str, file: str) -> str:
    """Name of a file that is one hang's own."""
    return f"{hang.translate(NOT_IN_FILES)}-{file}" if hang else file


def answer_file(readings_file: str) -> str:
    """Name of the answer that belongs to a form with readings: ``mains (twin)-readings.csv``."""
    hang = readings_file.rpartition("readings.")[0].removesuffix("-").removesuffix(TWIN)
    return own_file(hang, "answer.json")


def _sheet(sheet: Sheet, pictures: list[Picture]) -> Files:
    return {
        "sheet.txt": text_of(sheet).encode(),
        "sheet.html": html_of(sheet, pictures).encode(),
        "sheet.pdf": pdf_of(sheet, pictures),
    }


def _of_answer(answer: Answer, hang: str = "") -> Files:
    return {own_file(hang, "answer.json"): answer.to_json().encode(), **_forms(answer, hang)}


def _forms(answer: Answer, hang: str) -> Files:
    blank = blank_readings(answer)
    return {
        own_file(hang, "readings.json"): blank.to_json().encode(),
        own_file(hang, "readings.csv"): blank.to_csv().encode(),
    }
