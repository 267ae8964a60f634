"""One picture in several states, and a slider to step through them.

The states are drawn beforehand and stored with the page, so the slider works with no server and no
running kernel: in JupyterLab as linked widgets, on a plain page as a range input.
"""

from __future__ import annotations

import html
import json
from collections.abc import Sequence
from typing import Any

from hangarc._display import image
from hangarc._errors import InputError
from hangarc._keywords import ByName
from hangarc._record import listed, whole


class Slider(ByName):
    """A slider over pictures that are drawn already.

    Parameters
    ----------
    name : str
        What the slider moves.
    states : sequence of (str, str)
        For each place of the slider what is said there, and its picture as SVG.
    start : int
        Where the slider stands at first.

    Raises
    ------
    InputError
        No states, or a start that is none of them.

    Examples
    --------
    >>> import hangarc as ha
    >>> slider = ha.lesson.Slider("tilt", [("level", "<svg/>"), ("up", "<svg/>")])
    >>> "<input" in slider.html()
    True
    """

    def __init__(self, name: str, states: Sequence[tuple[str, str]], *, start: int = 0) -> None:
        self.name = str(name)
        self.states = [(str(said), str(svg)) for said, svg in listed("states", states)]
        if not self.states:
            raise InputError("states", states, "at least one")
        self.start = whole("start", start, len(self.states) - 1)

    def __repr__(self) -> str:
        return f"Slider({self.name!r}, {len(self.states)} states)"

    def html(self) -> str:
        """Give the slider as a piece of HTML that needs nothing else.

        Examples
        --------
        >>> import hangarc as ha
        >>> ha.lesson.Slider("tilt", [("level", "<svg/>"), ("up", "<svg/>")]).html()[:4]
        '<div'
        """
        name = html.escape(self.name)
        last = len(self.states) - 1
        spoken = html.escape(json.dumps([words for words, _ in self.states]))
        change = (
            "var b=this.parentNode.parentNode,i=+this.value,s=b.querySelectorAll('[data-state]');"
            "for(var k=0;k<s.length;k++)s[k].style.display=k==i?'':'none';"
            "b.querySelector('output').textContent=JSON.parse(b.dataset.said)[i];"
        )
        pictures = "".join(
            f"<div data-state='{index}' style='{'' if index == self.start else 'display:none'}'>"
            f"{image(svg, html.escape(said))}</div>"
            for index, (said, svg) in enumerate(self.states)
        )
        return (
            f'<div class="hangarc-slider" data-said="{spoken}">'
            f"<label>{name} <input type='range' min='0' max='{last}' step='1' "
            f"value='{self.start}' style='width:20em;max-width:60%;vertical-align:middle' "
            f'oninput="{change}"></label>'
            f"<div><output>{html.escape(self.states[self.start][0])}</output></div>"
            f"{pictures}</div>"
        )

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        bundle = {"text/plain": repr(self), "text/html": self.html()}
        widget = self.widget()
        if widget is not None:
            bundle = {**widget._repr_mimebundle_(), **bundle}
        return bundle

    def widget(self) -> Any:
        """Give the same as linked widgets, whose states a notebook stores; None without ipywidgets.

        The slider chooses which of the pictures is shown; the browser does it, not Python.

        Examples
        --------
        >>> import hangarc as ha
        >>> slider = ha.lesson.Slider("tilt", [("level", "<svg/>"), ("up", "<svg/>")])
        >>> type(slider.widget()).__name__
        'VBox'
        """
        try:
            import ipywidgets
        except ModuleNotFoundError:
            return None
        pictures = [
            ipywidgets.HTML(value=f"<div>{html.escape(said)}</div>{image(svg, html.escape(said))}")
            for said, svg in self.states
        ]
        stack = ipywidgets.Stack(children=pictures, selected_index=self.start)
        slider = ipywidgets.IntSlider(
            value=self.start, min=0, max=len(self.states) - 1, description=self.name,
            readout=False, style={"description_width": "initial"},
            layout=ipywidgets.Layout(width="32em"),
        )  # fmt: skip
        ipywidgets.jslink((slider, "value"), (stack, "selected_index"))
        return ipywidgets.VBox([slider, stack])
