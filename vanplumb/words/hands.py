"""Four ways to set mathematics: LaTeX, typst, MathML and plain text."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from html import escape

_LATEX = {
    "α": r"\alpha", "β": r"\beta", "ε": r"\varepsilon", "η": r"\eta", "θ": r"\theta",
    "λ": r"\lambda", "μ": r"\mu", "ν": r"\nu", "π": r"\pi", "ρ": r"\rho", "σ": r"\sigma",
    "τ": r"\tau", "φ": r"\varphi", "ω": r"\omega", "Δ": r"\Delta ", "ṁ": r"\dot{m}",
    "€": r"\text{price}",
}  # fmt: skip
_TEXT_LATEX = str.maketrans({
    "\\": r"\textbackslash{}", "{": r"\{", "}": r"\}", "$": r"\$", "&": r"\&", "#": r"\#",
    "%": r"\%", "_": r"\_", "^": r"\^{}", "~": r"\~{}",
})  # fmt: skip


class Hand(ABC):
    """What a syntax walk needs to set one formula."""

    stacked = True
    """Fractions stand above one another and need no brackets."""
    gap = ""
    """What stands between a number and its unit."""

    def quantity(self, number: str, unit: str) -> str:
        """A number with its unit behind it."""
        return f"{number}{self.gap}{self.text(unit)}" if unit else number

    @abstractmethod
    def number(self, digits: str, power: int) -> str: ...
    @abstractmethod
    def symbol(self, base: str, subscript: str) -> str: ...
    @abstractmethod
    def text(self, words: str) -> str: ...
    @abstractmethod
    def group(self, inside: str) -> str: ...
    @abstractmethod
    def minus(self, inside: str) -> str: ...
    @abstractmethod
    def plus(self, left: str, right: str) -> str: ...
    @abstractmethod
    def less(self, left: str, right: str) -> str: ...
    @abstractmethod
    def times(self, left: str, right: str, *, spelled: bool) -> str: ...
    @abstractmethod
    def over(self, top: str, bottom: str) -> str: ...
    @abstractmethod
    def power(self, base: str, exponent: str) -> str: ...
    @abstractmethod
    def root(self, inside: str) -> str: ...
    @abstractmethod
    def bars(self, inside: str) -> str: ...
    @abstractmethod
    def function(self, name: str, inside: list[str]) -> str: ...
    @abstractmethod
    def equation(self, sides: list[str]) -> str: ...


class Latex(Hand):
    gap = r"\;"

    def number(self, digits: str, power: int) -> str:
        return rf"{digits} \cdot 10^{{{power}}}" if power else digits

    def symbol(self, base: str, subscript: str) -> str:
        plain = base.lstrip("Δ")
        letter = _LATEX.get(plain, plain)
        if len(plain) > 1:
            letter = rf"\mathrm{{{plain}}}"
        letter = (r"\Delta " if base.startswith("Δ") else "") + letter
        if not subscript:
            return letter
        return rf"{letter}_{{{_sub_latex(subscript)}}}"

    def text(self, words: str) -> str:
        return rf"\text{{{words.translate(_TEXT_LATEX)}}}" if words else ""

    def group(self, inside: str) -> str:
        return rf"\left({inside}\right)"

    def minus(self, inside: str) -> str:
        return f"-{inside}"

    def plus(self, left: str, right: str) -> str:
        return f"{left} + {right}"

    def less(self, left: str, right: str) -> str:
        return f"{left} - {right}"

    def times(self, left: str, right: str, *, spelled: bool) -> str:
        return rf"{left} \cdot {right}" if spelled else rf"{left}\,{right}"

    def over(self, top: str, bottom: str) -> str:
        return rf"\frac{{{top}}}{{{bottom}}}"

    def power(self, base: str, exponent: str) -> str:
        return rf"{{{base}}}^{{{exponent}}}"

    def root(self, inside: str) -> str:
        return rf"\sqrt{{{inside}}}"

    def bars(self, inside: str) -> str:
        return rf"\left|{inside}\right|"

    def function(self, name: str, inside: list[str]) -> str:
        head = r"\log_{10}" if name == "log10" else rf"\operatorname{{{name}}}"
        return rf"{head}\left({', '.join(inside)}\right)"

    def equation(self, sides: list[str]) -> str:
        return " = ".join(sides)


class Typst(Hand):
    gap = " thin "

    def number(self, digits: str, power: int) -> str:
        return f"{digits} dot 10^({power})" if power else digits

    def symbol(self, base: str, subscript: str) -> str:
        plain = base.lstrip("Δ")
        letter = "dot(m)" if plain == "ṁ" else plain if len(plain) == 1 else f'"{plain}"'
        if plain == "€":
            letter = '"price"'
        letter = ("Δ " if base.startswith("Δ") else "") + letter
        if len(subscript) > 1 or (subscript.isascii() and not subscript.isalnum()):
            return f"{letter}_{self.text(subscript)}" if subscript else letter
        return f"{letter}_{subscript}"

    def text(self, words: str) -> str:
        safe = words.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{safe}"' if words else ""

    def group(self, inside: str) -> str:
        return f"({inside})"

    def minus(self, inside: str) -> str:
        return f"-{inside}"

    def plus(self, left: str, right: str) -> str:
        return f"{left} + {right}"

    def less(self, left: str, right: str) -> str:
        return f"{left} - {right}"

    def times(self, left: str, right: str, *, spelled: bool) -> str:
        return f"{left} dot {right}" if spelled else f"{left} thin {right}"

    def over(self, top: str, bottom: str) -> str:
        return f"frac({top}, {bottom})"

    def power(self, base: str, exponent: str) -> str:
        return f"{base}^({exponent})"

    def root(self, inside: str) -> str:
        return f"sqrt({inside})"

    def bars(self, inside: str) -> str:
        return f"abs({inside})"

    def function(self, name: str, inside: list[str]) -> str:
        head = "log_10" if name == "log10" else name if name in _KNOWN else f'op("{name}")'
        return f"{head}({', '.join(inside)})"

    def equation(self, sides: list[str]) -> str:
        return " = ".join(sides)


_KNOWN = {"exp", "ln", "sin", "cos", "tan", "arccos", "arcsin", "arctan", "tanh", "min", "max"}


class MathML(Hand):
    def number(self, digits: str, power: int) -> str:
        sign, plain = ("<mo>−</mo>", digits[1:]) if digits.startswith("-") else ("", digits)
        text = f"{sign}<mn>{plain}</mn>"
        if power:
            raised = (
                f"<mn>{power}</mn>" if power > 0 else f"<mrow><mo>−</mo><mn>{-power}</mn></mrow>"
            )
            text += f"<mo>·</mo><msup><mn>10</mn>{raised}</msup>"
        return f"<mrow>{text}</mrow>" if power or sign else text

    def symbol(self, base: str, subscript: str) -> str:
        plain = base.lstrip("Δ")
        style = ' mathvariant="normal"' if len(plain) > 1 else ""
        letter = f"<mi{style}>{'price' if plain == '€' else plain}</mi>"
        if base.startswith("Δ"):
            letter = f'<mrow><mi mathvariant="normal">Δ</mi>{letter}</mrow>'
        if not subscript:
            return letter
        return f"<msub>{letter}<mtext>{escape(subscript)}</mtext></msub>"

    def text(self, words: str) -> str:
        return f"<mtext>\u00a0{escape(words)}</mtext>" if words else ""

    def group(self, inside: str) -> str:
        return f"<mrow><mo>(</mo>{inside}<mo>)</mo></mrow>"

    def minus(self, inside: str) -> str:
        return f"<mrow><mo>−</mo>{inside}</mrow>"

    def plus(self, left: str, right: str) -> str:
        return f"<mrow>{left}<mo>+</mo>{right}</mrow>"

    def less(self, left: str, right: str) -> str:
        return f"<mrow>{left}<mo>−</mo>{right}</mrow>"

    def times(self, left: str, right: str, *, spelled: bool) -> str:
        mark = "<mo>·</mo>" if spelled else '<mspace width="0.17em"></mspace>'
        return f"<mrow>{left}{mark}{right}</mrow>"

    def over(self, top: str, bottom: str) -> str:
        return f"<mfrac><mrow>{top}</mrow><mrow>{bottom}</mrow></mfrac>"

    def power(self, base: str, exponent: str) -> str:
        return f"<msup><mrow>{base}</mrow><mrow>{exponent}</mrow></msup>"

    def root(self, inside: str) -> str:
        return f"<msqrt><mrow>{inside}</mrow></msqrt>"

    def bars(self, inside: str) -> str:
        return f"<mrow><mo>|</mo>{inside}<mo>|</mo></mrow>"

    def function(self, name: str, inside: list[str]) -> str:
        head = "<msub><mi>log</mi><mn>10</mn></msub>" if name == "log10" else f"<mi>{name}</mi>"
        return f"<mrow>{head}<mo>(</mo>{'<mo>,</mo>'.join(inside)}<mo>)</mo></mrow>"

    def equation(self, sides: list[str]) -> str:
        return f"<math><mrow>{'<mo>=</mo>'.join(sides)}</mrow></math>"


class Text(Hand):
    stacked = False
    gap = " "

    def number(self, digits: str, power: int) -> str:
        signed = digits.replace("-", "−")
        return f"{signed}e{power}" if power else signed

    def symbol(self, base: str, subscript: str) -> str:
        return f"{base}_{subscript.replace(', ', ',').replace(' ', '_')}" if subscript else base

    def text(self, words: str) -> str:
        return words

    def group(self, inside: str) -> str:
        return f"({inside})"

    def minus(self, inside: str) -> str:
        return f"−{inside}"

    def plus(self, left: str, right: str) -> str:
        return f"{left} + {right}"

    def less(self, left: str, right: str) -> str:
        return f"{left} − {right}"

    def times(self, left: str, right: str, *, spelled: bool) -> str:
        return f"{left}·{right}"

    def over(self, top: str, bottom: str) -> str:
        return f"{top} / {bottom}"

    def power(self, base: str, exponent: str) -> str:
        return f"{base}^{exponent if exponent.isalnum() else f'({exponent})'}"

    def root(self, inside: str) -> str:
        return f"√({inside})"

    def bars(self, inside: str) -> str:
        return f"|{inside}|"

    def function(self, name: str, inside: list[str]) -> str:
        return f"{name}({', '.join(inside)})"

    def equation(self, sides: list[str]) -> str:
        return " = ".join(sides)


def _sub_latex(subscript: str) -> str:
    if not re.fullmatch(r"[^\W_]+(,? [^\W_]+)*", subscript):  # a part's own words, with their signs
        quiet = subscript.replace("<", "‹").replace(">", "›")  # a notebook reads HTML in between
        return rf"\text{{{quiet.translate(_TEXT_LATEX)}}}"
    return subscript if len(subscript) == 1 else rf"\mathrm{{{subscript.replace(' ', '~')}}}"


HANDS: dict[str, Hand] = {
    "latex": Latex(),
    "typst": Typst(),
    "mathml": MathML(),
    "text": Text(),
}
