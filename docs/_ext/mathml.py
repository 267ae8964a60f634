"""Equations as MathML, which browsers set themselves: no script, no network."""

from typing import Any

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator


def _inline(translator: HTML5Translator, node: nodes.math) -> None:
    translator.body.append(convert(node.astext()))
    raise nodes.SkipNode


def _block(translator: HTML5Translator, node: nodes.math_block) -> None:
    number = node.get("number")
    translator.body.append(translator.starttag(node, "div", CLASS="math"))
    translator.body.append(convert(node.astext(), display="block"))
    if number:
        translator.body.append(f'<span class="eqno">({number})</span>')
    translator.body.append("</div>\n")
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, Any]:
    """Add the renderer `mathml`."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
