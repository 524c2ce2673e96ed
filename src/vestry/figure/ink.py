"""Pieces as SVG: fill, hatch, shading, contour, inner lines, in that order."""

from __future__ import annotations

from dataclasses import dataclass

from vestry.figure import palette as c
from vestry.figure.path import Path, write
from vestry.figure.pieces import Piece


@dataclass
class Pen:
    """Writes pieces. Names of clip paths are counted from `prefix`.

    stroke: line weights are multiplied by it; fine: thin and faint lines are drawn at all
    """

    prefix: str
    stroke: float = 1.0
    fine: bool = True
    clips: int = 0

    def piece(self, p: Piece, hatched: bool) -> str:
        """One piece; `hatched` if its surface may be contaminated and is outermost."""
        if p.band:
            return self._band(p, hatched)
        out: list[str] = []
        outline = write(p.outline)
        rule = ' fill-rule="evenodd"' if p.holes else ""
        plain = p.contour is None and not hatched and not p.shade
        if p.fill and plain:
            return self._line(p.outline, p.weight, f'fill="{p.fill}"{_seen(p.opacity)}{rule}') + self._inner(p)
        if p.fill:
            out.append(f'<path d="{outline}" fill="{p.fill}"{_seen(p.opacity)}{rule} stroke="none"/>')
        if hatched:
            out.append(self._hatch(p, outline, rule))
        if p.shade:
            out.append(f'<path d="{write(p.shade)}" fill="{c.INK}" fill-opacity="0.07" stroke="none"/>')
        contour = p.contour
        if contour is None:
            contour = p.outline if p.fill else ()
        if contour and (p.fill or hatched):
            out.append(self._line(contour, p.weight, ""))
        return "".join(out) + self._inner(p)

    def _hatch(self, p: Piece, outline: str, rule: str) -> str:
        fill = f'fill="url(#{self.prefix}hatch)" stroke="none"'
        head = f'<g data-mark="hatch" data-surface="{p.surface}">'
        if p.hatch or p.margin == 0:
            shape = write(p.hatch) if p.hatch else outline
            return f'{head}<path d="{shape}" {fill}{"" if p.hatch else rule}/></g>'
        self.clips += 1
        name = f"{self.prefix}face{self.clips}"
        base = p.fill or p.base
        clip_rule = ' clip-rule="evenodd"' if p.holes else ""
        return (
            f'{head}<clipPath id="{name}"><path d="{outline}"{clip_rule}/></clipPath>'
            f'<path clip-path="url(#{name})" d="{outline}" fill="url(#{self.prefix}hatch)"{rule} '
            f'stroke="{base}" stroke-width="{2 * p.margin:.1f}"/></g>'
        )

    def _inner(self, p: Piece) -> str:
        out: list[str] = []
        if p.dark:
            out.append(f'<path d="{write(p.dark)}" fill="{c.INK}" stroke="none"/>')
        if p.folds and self.fine:
            out.append(self._line(p.folds, c.DETAIL, 'stroke-opacity="0.36"'))
        if p.lines and self.fine:
            out.append(self._line(p.lines, c.DETAIL, ""))
        if p.gleam and self.fine:
            out.append(f'<path d="{write(p.gleam)}" stroke="#FFFFFF" stroke-width="4" stroke-opacity="0.8"/>')
        return "".join(out)

    def _band(self, p: Piece, hatched: bool) -> str:
        d = write(p.band)
        edge = 2 * c.DETAIL * self.stroke if p.width < 8 else 2 * c.LINE * self.stroke
        fill = c.POWER_LIGHT if p.ribbed else c.STRAP
        cap = ' stroke-linecap="butt"'
        out = (
            f'<path d="{d}" stroke-width="{p.width + edge:.1f}"{cap}/>'
            f'<path d="{d}" stroke="{fill}" stroke-width="{p.width:.1f}"{cap}/>'
        )
        if p.ribbed:
            out += f'<path d="{d}" stroke-width="{p.width:.1f}" stroke-dasharray="1.6 5.4" stroke-opacity="0.6"{cap}/>'
        if hatched:
            out += (
                f'<g data-mark="hatch" data-surface="{p.surface}"><path d="{d}" stroke="{c.OXIDE}" '
                f'stroke-width="{p.width:.1f}" stroke-dasharray="3 6"{cap}/></g>'
            )
        return out

    def _line(self, path: Path, weight: float, more: str) -> str:
        width = weight * self.stroke
        attribute = "" if abs(width - c.CONTOUR) < 0.01 else f' stroke-width="{width:.1f}"'
        return f'<path d="{write(path)}"{attribute}{" " + more if more else ""}/>'


def _seen(opacity: float) -> str:
    return "" if opacity == 1.0 else f' fill-opacity="{opacity:g}"'
