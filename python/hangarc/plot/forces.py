"""Forces in the joints, and the chain's force on the way to closed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from hangarc._catalogue import Language
from hangarc._keywords import by_name
from hangarc._words import LanguageCode
from hangarc.model import ClosingGear

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from hangarc.closing.path import Closing
from hangarc.plot.style import FIRST, INK, PALE, SECOND, THIRD, axes_or_new, worded_axes


@by_name
def joint_forces(
    forces_n: Mapping[str, ArrayLike],
    *,
    limits_n: Mapping[str, Sequence[float | None]] | None = None,
    bottom: bool = True,
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
    """Draw forces at the joints as bars, top joint uppermost, with stated limits as marks.

    Parameters
    ----------
    forces_n : mapping of str to array_like
        For each kind of force, one figure per joint; at most three kinds.
    limits_n : mapping of str to sequence of float or None, optional
        For the same kinds, the stated limits; None where none is stated.
    bottom : bool
        Whether the last joint is that of the bottom frame.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> import hangarc as ha
    >>> joints = ha.joint_loads(ha.demo.hang((2.1, 2.8, 3.6), rigging="tension"), 2.0)
    >>> ax = ha.plot.joint_forces({"rear link": joints.rear_link_n})
    >>> ax.get_xlabel()
    'force, kN'
    """
    said, ax = Language(language), axes_or_new(ax, (7.2, 5.2))
    count = np.size(next(iter(forces_n.values())))
    joints = np.arange(count)
    thick = 0.8 / len(forces_n)
    looks = zip((FIRST, SECOND, THIRD), ("", "////", "...."), strict=True)
    for place, ((name, force), (colour, hatch)) in enumerate(
        zip(forces_n.items(), looks, strict=False)
    ):
        at = joints + (place - (len(forces_n) - 1) / 2.0) * thick
        ax.barh(
            at,
            np.asarray(force) / 1e3,
            height=thick * 0.9,
            color=colour,
            hatch=hatch,
            edgecolor="white",
            linewidth=0.0,
            label=name,
        )
        stated = [
            (limit / 1e3, y)
            for limit, y in zip((limits_n or {}).get(name, ()), at, strict=False)
            if limit is not None
        ]
        if stated:
            ax.plot(
                *np.transpose(stated), ls="", marker="|", markersize=8, mew=2.0, color=colour,
                label=said.word("plot.stated_limit", name=name),
            )  # fmt: skip
    ax.axvline(0.0, color=INK, linewidth=0.8)
    ax.set_yticks(joints, _joint_names(said, count, bottom))
    ax.invert_yaxis()
    ax.legend(loc="upper left", bbox_to_anchor=(0.0, -0.12), ncols=2, frameon=False, fontsize=8)
    return worded_axes(ax, said, "forces")


@by_name
def closing_path(
    closing: Closing,
    *,
    gear: ClosingGear | None = None,
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
    """Draw the chain force while the chain shortens, from the free hang to the closed one.

    Parameters
    ----------
    closing : Closing
        What `hangarc.close` gave.
    gear : ClosingGear, optional
        Its slip clutch's band is shaded.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> ax = ha.plot.closing_path(ha.close(hang, 2.0), gear=hang.gear)
    >>> ax.get_ylabel()
    'chain force, kN'
    """
    said, ax = Language(language), axes_or_new(ax, (7.2, 4.4))
    path = closing.path
    shortened_mm = (closing.chain_free_m - np.asarray(path["chain_m"])) * 1e3
    ax.plot(shortened_mm, np.asarray(path["force_n"]) / 1e3, color=FIRST, linewidth=1.8)
    for event in closing.events:
        if event.contact == "arrives at stop":
            at = ((closing.chain_free_m - event.chain_m) * 1e3, event.force_n / 1e3)
            ax.plot(*at, marker="o", markersize=4, color=FIRST)
            ax.annotate(
                str(event.joint), at, xytext=(-3, 5), textcoords="offset points", ha="right",
                color=INK, fontsize=8,
            )  # fmt: skip
    if closing.closing_force_n is not None:
        ax.plot(
            (closing.chain_free_m - closing.chain_closed_m) * 1e3,
            closing.closing_force_n / 1e3,
            ls="", marker="o", color=SECOND, zorder=4,
            label=said.word("plot.closed_at", force=said.number(closing.closing_force_n / 1e3, 2)),
        )  # fmt: skip
    if gear is not None and gear.clutch_n is not None:
        low, high = gear.clutch_n
        ax.axhspan(
            low / 1e3, high / 1e3, facecolor=PALE, edgecolor="white", hatch="////", alpha=0.7,
            label=said.word("plot.clutch", low=said.trimmed(low / 1e3),
                            high=said.trimmed(high / 1e3)), zorder=0,
        )  # fmt: skip
    ax.set_ylim(bottom=0.0)
    ax.legend(loc="best", frameon=False, fontsize=9)
    return worded_axes(ax, said, "closing")


def _joint_names(said: Language, count: int, bottom: bool) -> list[str]:
    last = count - 1
    names = [
        said.word("plot.joint", joint=joint, above=joint, below=joint + 1) for joint in range(count)
    ]
    names[0] = said.word("plot.joint_top")
    if bottom:
        names[last] = said.word("plot.joint_bottom", joint=last)
    return names
