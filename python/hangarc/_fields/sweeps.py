"""Rows of a sweep: what crosses between the face and the core."""

from __future__ import annotations

from typing import Literal, TypedDict

from hangarc._fields.search import ConstraintFields, SoundFields
from hangarc.search.result import SearchEnd


class Asked(TypedDict):
    mode: str
    seed: int
    budget_evaluations: int | None


class RefusedRow(TypedDict):
    seconds: float
    ended: Literal["refused"]
    error_field: str
    error_text: str


class AnswerRow(SoundFields):
    seconds: float
    ended: SearchEnd
    cabinets: int
    splays_deg: list[float]
    tilt_deg: float
    top_m: float
    trim_m: float
    pick_x_m: list[float]
    gains_db: list[float]
    objective_db: float
    straight_objective_db: float
    mass_kg: float
    hoist_load_n: list[float]
    closing_force_n: float | None
    greatest_utilisation: float | None
    greatest_part: tuple[str, int | None] | None
    limits_not_stated: int
    missed: list[ConstraintFields]
    evaluations: int
