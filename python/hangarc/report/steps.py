"""The steps of the work, in its order: each one done before the next begins."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from hangarc.report.blocks import Block, Step, Table
from hangarc.report.figures import Figure, Rich
from hangarc.report.telling import Telling, joined

# Let off by less than this a joint counts as closed: play of pins is of that size (common
# practice, no source).
PLAY_DEG = 0.3


class Steps:
    """Counts the steps while they are written."""

    def __init__(self, tell: Telling) -> None:
        self.tell = tell
        self.work = tell.answer.work
        self.two = len(self.work.frame.holes) == 2
        self.compression = tell.answer.hang.rigging == "compression"
        self._numbers = itertools.count(1)

    def building(self) -> list[Block]:
        """Steps from the fly frame to the last cart."""
        return [self._frame(), *self._carts()]

    def closing(self) -> list[Block]:
        """Steps from fitting the chain to the bypass; none of a tension hang."""
        if self.work.closing is None:
            return []
        return [self._gear(), self._clear(), self._close(), self._preload(), self._bypass()]

    def lifting(self) -> list[Block]:
        """Steps from working height to what hangs at trim."""
        steps: list[Block] = [] if self.work.closing is None else [self._lift()]
        return [*steps, self._check()]

    def _step(self, title: Rich, *sentences: Rich, readings: list[Rich] | None = None) -> Step:
        return Step(next(self._numbers), title, sentences, readings=readings or ())

    def _read(self, name: str, kind: str, path: str, **more: Figure) -> Rich:
        """A field to write into, with what is planned beside it."""
        return self.tell.say(f"read.{name}", planned=self.tell.fig(kind, path), **more)

    def _hoists(self, path: str) -> list[Rich]:
        names = ("front", "rear") if self.two else ("hoist",)
        return [self._read(name, "load", f"{path}[{i}]") for i, name in enumerate(names)]

    def _hole(self, path: str) -> Rich:
        hole = self.tell.fig("count", "work.frame.holes[0]")
        return self._read("pick", "length", f"{path}.pick_m[0]", hole=hole)

    def _heights(self, path: str) -> dict[str, Figure | Rich]:
        tell = self.tell
        return {
            "hole": tell.fig("count", "work.frame.holes[0]"),
            "pick": tell.fig("length", f"{path}.pick_m[0]"),
            "hook": self._hook(path),
            "lowest": tell.fig("length", f"{path}.lowest_m"),
        }

    def _reach(self, path: str) -> dict[str, Figure | Rich]:
        """How far the hang comes from the front hoist's plumb line."""
        ends = ("behind", "ahead")
        return {end: self.tell.fig("length", f"{path}.{end}_m") for end in ends}

    def _hook(self, path: str) -> Rich:
        """Where the front hook stands, if it stands elsewhere than the hole."""
        if self.tell.answer.job.steel_m == 0.0:
            return ()
        return self.tell.say("step.hook", hook=self.tell.fig("length", f"{path}.hook_m[0]"))

    def _frame(self) -> Step:
        tell = self.tell
        values: dict[str, Figure | Rich] = {
            "front": tell.fig("count", "work.frame.holes[0]"),
            "pick": tell.fig("length", "work.frame.pick_m[0]"),
            "hook": self._hook("work.frame"),
            "hinge": tell.fig("length", "work.frame.hinge_m"),
        }
        if self.two:
            values["rear"] = tell.fig("count", "work.frame.holes[1]")
            values["pick_rear"] = tell.fig("length", "work.frame.pick_m[1]")
            values["tilt"] = tell.fig("tilt", "work.trim.tilt_deg")
        key = "step.frame_two"
        if not self.two:
            key = "step.frame_over"
            if self.work.frame.alone_deg is not None:
                key, values["alone"] = "step.frame_one", tell.fig("tilt", "work.frame.alone_deg")
        sentences = [tell.say(key, **values)]
        if self.compression:
            sentences.append(tell.say("step.frame_chain"))
        readings = [self._hole("work.frame")]
        if self.two:
            readings.append(self._read("tilt", "tilt", "work.trim.tilt_deg"))
        return self._step((tell.word("step.frame_head"),), *sentences, readings=readings)

    def _carts(self) -> Iterator[Step]:
        tell, lifts = self.tell, self.work.lifts
        for index, lift in enumerate(lifts):
            path = f"work.lifts[{index}]"
            last = index == len(lifts) - 1
            first, end = (tell.fig("count", f"{path}.{name}") for name in ("first", "last"))
            above: Rich = (tell.word("step.cart_frame"),)
            if index:
                above = tell.say(
                    "step.cart_cabinet",
                    number=tell.fig("count", f"work.lifts[{index - 1}].last"),
                )
            join = "step.cart_join_next" if index else "step.cart_join"
            sentences = [tell.say(join, first=first, above=above)]
            if last and tell.answer.hang.bottom is not None:
                sentences.append(tell.say("step.cart_bottom", last=end))
            sentences.append(self._raise(path, last))
            pins = "step.cart_pins" if self.compression else "step.cart_pins_tension"
            ticks = [
                tell.say(
                    "step.pin",
                    joint=tell.fig("count", f"{path}.pins[{place}].joint"),
                    splay=tell.fig("angle", f"{path}.pins[{place}].splay_deg"),
                    position=tell.fig("count", f"{path}.pins[{place}].position"),
                    positions=tell.fig("count", f"{path}.pins[{place}].positions"),
                )
                for place in range(len(lift.pins))
            ]
            head = "step.cart_head" if lift.last > lift.first else "step.cart_head_one"
            title = tell.say(
                head, number=tell.fig("count", f"{path}.number"), first=first, last=end
            )
            yield Step(
                next(self._numbers),
                title,
                sentences,
                tell.say(pins) if ticks else (),
                ticks,
                [
                    self._read("tilt", "tilt", f"{path}.tilt_deg"),
                    *self._hoists(f"{path}.hoist_load_n"),
                ],
            )

    def _raise(self, path: str, last: bool) -> Rich:
        name = "step.raise_next"
        if last:
            name = "step.raise_close" if self.work.closing else "step.raise_trim"
        return self.tell.say(name, **self._heights(path), **self._reach(path))

    def _gear(self) -> Step:
        tell = self.tell
        told = tell.say(
            "step.gear",
            link=tell.fig("count", "work.closing.link"),
            slack=tell.fig("count", "work.closing.slack_links"),
            hoist=tell.fig("length", "work.closing.hoist_open_m"),
            height=tell.fig("length", "work.closing.anchor_open_m[1]"),
        )
        readings = [self._read("hoist_length", "length", "work.closing.hoist_open_m")]
        return self._step((tell.word("step.gear_head"),), told, readings=readings)

    def _clear(self) -> Step:
        tell, rear = self.tell, self.work.closing
        assert rear is not None
        backwards = rear.swing_m >= 0.0
        told = [
            tell.say(
                "step.clear" if backwards else "step.clear_forward",
                swing=tell.fig("size", "work.closing.swing_m"),
                rise=tell.fig("length", "work.closing.rise_m"),
                **self._reach("work.closing"),
                lowest=tell.fig("length", "work.closing.lowest_on_way_m"),
            )
        ]
        for index in range(len(rear.jumps)):
            path = f"work.closing.jumps[{index}]"
            told.append(
                tell.say(
                    "step.snap",
                    hoist=tell.fig("length", f"{path}.hoist_m"),
                    turn=tell.fig("angle", f"{path}.greatest_turn_deg"),
                    before=tell.fig("force", f"{path}.force_before_n"),
                    after=tell.fig("force", f"{path}.force_after_n"),
                )
            )
        return self._step((tell.word("step.clear_head"),), *told)

    def _close(self) -> Step:
        tell, rear = self.tell, self.work.closing
        assert rear is not None
        told = [tell.say("step.close")]
        told_of = {"close_free": "on stop when free", "close_returns": "leaves stop"}
        for name, contact in told_of.items():
            joints = [
                tell.cell("count", f"work.closing.contacts[{index}].joint")
                for index, row in enumerate(rear.contacts)
                if row.contact == contact
            ]
            if joints:
                told.append(tell.say(f"step.{name}", joints=joined(joints)))
        if rear.closing_force_n == 0.0:
            told.append(tell.say("step.close_gravity"))
        else:
            told.append(
                tell.say(
                    "step.close_end" if self.two else "step.close_end_one",
                    force=tell.spread("force", "work.closing.closing_force_n"),
                    hoist=tell.fig("length", "work.closing.hoist_closed_m"),
                )
            )
        told.append(self._clutch())
        readings = [
            self._read("chain_force", "force", "work.closing.closing_force_n"),
            self._read("tilt", "tilt", "work.closing.tilt_closed_deg"),
            *self._hoists("work.closing.hoist_load_closed_n"),
        ]
        return self._step((tell.word("step.close_head"),), *told, readings=readings)

    def _clutch(self) -> Rich:
        tell, gear = self.tell, self.tell.answer.hang.gear
        if gear is None or gear.clutch_n is None:
            return tell.say("step.clutch_none")
        low, high = (tell.fig("force", f"hang.gear.clutch_n[{end}]") for end in (0, 1))
        return tell.say("step.clutch", low=low, high=high)

    def _preload(self) -> Step:
        tell = self.tell
        told = tell.say(
            "step.preload",
            pulled=tell.fig("force", "work.closing.pulled_n"),
            least=tell.fig("force", "work.closing.least_stop_n"),
        )
        readings = [self._read("chain_force", "force", "work.closing.pulled_n")]
        return self._step((tell.word("step.preload_head"),), told, readings=readings)

    def _bypass(self) -> Step:
        tell, rear = self.tell, self.work.closing
        assert rear is not None
        title: Rich = (tell.word("step.bypass_head"),)
        link = tell.fig("count", "work.closing.bypass.link")
        if rear.bypass.ended == "chain too short":
            return self._step(title, tell.say("step.bypass_short", link=link))
        values = {
            "link": link,
            "force": tell.fig("force", "work.closing.bypass.force_n"),
            "opening": tell.fig("angle", "work.closing.bypass_opening_deg"),
        }
        if rear.bypass.ended == "carries" and rear.bypass_opening_deg <= PLAY_DEG:
            return self._step(title, tell.say("step.bypass", **values))
        return self._step(title, tell.say("step.bypass_slack", **values))

    def _lift(self) -> Step:
        tell, trim = self.tell, self.work.trim
        name = "step.lift" if self.two else "step.lift_one"
        if trim.move_m < 0.0:
            name = "step.lower"
        told = tell.say(
            name,
            move=tell.fig("size", "work.trim.move_m"),
            top=tell.fig("length", "work.trim.top_m"),
            **self._heights("work.trim"),
        )
        readings = [
            self._hole("work.trim"),
            self._read("tilt", "tilt", "work.trim.tilt_deg"),
            *self._hoists("work.trim.hoist_load_n"),
        ]
        return self._step((tell.word("step.lift_head"),), told, readings=readings)

    def _check(self) -> Step:
        tell = self.tell
        told = [
            tell.say(
                "step.check",
                tilt=tell.fig("angle", "work.trim.tilt_tolerance_deg"),
                trim=tell.fig("length", "work.trim.height_tolerance_m"),
                file=tell.readings_file,
            ),
            tell.say(
                "step.uncertainty",
                tilt=tell.fig("angle", "job.tilt_uncertainty_deg"),
                load=tell.fig("percent", "job.load_uncertainty"),
            ),
        ]
        return self._step((tell.word("step.check_head"),), *told)


def closing_table(tell: Telling) -> Table:
    """Joints meeting and leaving their stops, in the order they do."""
    rear = tell.answer.work.closing
    assert rear is not None
    rows: list[list[Rich]] = []
    for index, contact in enumerate(rear.contacts):
        if contact.contact == "on stop when free":
            continue
        path = f"work.closing.contacts[{index}]"
        joint: Rich = tell.cell("count", f"{path}.joint")
        if contact.contact in ("leaves stop", "returns to stop"):
            name = "closing.leaves" if contact.contact == "leaves stop" else "closing.returns"
            joint = tell.say(name, joint=joined([joint]))
        rows.append(
            [
                joint,
                tell.cell("force", f"{path}.force_n"),
                tell.cell("length", f"{path}.hoist_m"),
            ]
        )
    columns: list[Rich] = [(tell.word(f"closing.{name}"),) for name in ("joint", "force", "hoist")]
    return Table(tell.word("closing.caption"), columns, rows, figures=(1, 2), blanks=("□",))


def reading_table(tell: Telling) -> Table:
    """What to read at trim, and how far it may be off."""
    work = tell.answer.work
    rows: list[list[Rich]] = []
    for index, bound in enumerate(work.bounds):
        path = f"work.bounds[{index}]"
        kind, differs = ("load", "load") if bound.kind == "hoist load" else ("tilt", "angle")
        number = tell.fig("count", f"{path}.number")
        rows.append(
            [
                tell.say(f"check.{bound.kind}", number=number),
                tell.cell(kind, f"{path}.planned"),
                tell.cell(differs, f"{path}.may_differ"),
            ]
        )
    rows.append(
        [
            (tell.word("check.trim"),),
            tell.cell("length", "work.trim.lowest_m"),
            tell.cell("length", "work.trim.height_tolerance_m"),
        ]
    )
    columns: list[Rich] = [(tell.word(f"check.{name}"),) for name in ("what", "planned", "differs")]
    return Table(
        tell.word("check.caption"), columns, rows, figures=(1, 2), blanks=(tell.word("read.head"),)
    )
