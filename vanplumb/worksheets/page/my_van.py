"""Your van: one page from a build file to its sheet, without a line of code.

Choose a file or start one, change it, see what is wrong and what follows, open every worksheet
of that van, and write its pack.

A build file as text with numbered lines; what is wrong stands below and leads to its line.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets

from ...pack import Pack, example, examples
from ...van import Build, BuildError, change, load, loads, save, template
from ...van.file.read import read_text
from ...van.file.write import changed
from ...words.files import file_name, write_whole
from ...words.show import show
from ..frame import look, paper
from ..frame import own_files as own
from ..frame.actions import Panel
from ..frame.browser_files import script, style
from ..frame.printed import bundle
from ..frame.sections import Makers, Sections
from .eight_questions import EightQuestions
from .names import named_in_builds, names_grid
from .pages import worksheets_of
from .van_form import VanForm
from .vans import VanMenu


class FileEditor(anywidget.AnyWidget):
    """Shows ``text`` to be changed, unless it is ``fixed``, and what is wrong with it."""

    _esm = script(__package__, "file_editor.js")
    _css = style(__package__, "file_editor.css")
    text = traitlets.Unicode("").tag(sync=True)
    fixed = traitlets.Bool(False).tag(sync=True)
    problems: traitlets.List[Any] = traitlets.List().tag(sync=True)
    at: traitlets.List[int] = traitlets.List([0, 0]).tag(sync=True)
    """A line to bring into sight, and how many times that was asked."""

    def __init__(self) -> None:
        super().__init__()
        self._then: Callable[[], None] | None = None
        self.on_msg(self._answered)

    def __repr__(self) -> str:
        return "<build file to change>"

    def as_typed(self, then: Callable[[], None]) -> None:
        """Call ``then`` once ``text`` is what stands on the page.

        What was typed last may come behind the press of a button: the page is asked for it.
        """
        self._then = then
        self.send({"ask": "text"})

    def _answered(self, _: Any, message: Any, __: Any) -> None:
        self.text = message["text"]
        then, self._then = self._then, None
        if then is not None:
            then()

    def go_to(self, line: int) -> None:
        """Bring a line into sight, without taking the reader there."""
        self.at = [line, self.at[1] + 1]

    def tell(self, error: BuildError | None) -> None:
        """What is wrong, each problem with its line; None if nothing is."""
        found: Iterable[Any] = error.problems if error is not None else ()
        self.problems = [
            {"line": one.line, "told": f"{one.path} {one.message}".strip()} for one in found
        ]


HINT = (
    'Each value is a number with its unit, in quotes: "30 in", "1 1/2 in", "60 L", "105 °F". '
    'Feet and inches may stand together: "2 ft 6 1/2 in". A line that begins with # is a '
    "remark: take the # away to use it."
)
PAUSE = 1.5
"""Seconds without a change before some answers are worked out again."""
START = {"empty, US units": "US", "empty, SI units": "SI"}
_aside = ThreadPoolExecutor(1, "answers in short")
"""Reviews one van at a time, while the page goes on."""
_drafts: dict[str, str] = {}
"""Texts that were changed and not saved, by file: running the cell again loses none."""
_last = {"van": ""}
"""What was chosen last: running the cell again stays with it."""


class MyVan:
    """The page.  ``build`` is the van that is chosen, ``pack`` what follows from it.

    ``none_yet`` tells that its text is no build: it can be mended here, and nothing follows from
    it till then.
    """

    def __init__(self, build: Build, *, none_yet: bool = False) -> None:
        self.build, self.pack = build, Pack(build)
        self._read = build.text
        self._none_yet = none_yet
        self._shown: Path | None = None
        self.vans = VanMenu(self._to, build, broken=self._to_broken)
        self.editor = FileEditor()
        self.editor.observe(self._typed, "text")
        self.form = VanForm(build.text, self._from_form, self.editor.go_to, fixed=True)
        self._told, self._now = widgets.HTML(), widgets.HTML()
        self._now.add_class("vp-now")
        self._later: asyncio.TimerHandle | None = None
        self._stale = False
        self.start = self._start_panel()
        self.questions = EightQuestions(self._begin)
        self.writing = self._write_panel()
        self.sections = Sections(self._makers())
        buttons = (self.questions.button, self.start.button, self.writing.button)
        self.vans.row.children = (*self.vans.row.children, *buttons)
        head = widgets.HTML(
            look.STYLE
            + look.math_font()
            + look.title("Your van")
            + "<p>Choose a build file, or make one by eight questions; change it on its drawing, "
            "in its fields or in its text, save it, and see what follows.</p>"
        )
        self.page = widgets.VBox(
            [
                head,
                self.vans.box,
                self.questions.box,
                self.start.box,
                self.writing.box,
                self.sections.box,
            ]
        )
        self.page.add_class("vanplumb")
        self.page.add_class("vp-my-van")
        self._file = self._file_page()
        self._show_text()
        self.sections.show()

    def __repr__(self) -> str:
        return f"Your van: {self.build.van.name}"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        if self._none_yet:
            told = "".join(f"<p>{escape(one['told'])}</p>" for one in self.editor.problems)
            return bundle(self.page, repr(self), look.title("Your van") + told, **kwargs)
        shown = paper.answers(self.pack).html + paper.findings(self.pack).html
        return bundle(self.page, repr(self), look.title(self.build.van.name) + shown, **kwargs)

    @property
    def path(self) -> Path | None:
        """The reader's own file that is chosen; None for an example."""
        key = self.vans.key
        return Path(key) if Path(key).is_absolute() else None

    def save(self) -> str:
        """Write the text into its file, whatever is still wrong with it, and tell."""
        path, text = self.path, self.editor.text
        if path is None:
            raise ValueError("an example stays as it is: press Start a new one")
        if path.exists() and read_text(path) != self._read:
            raise ValueError("the file was changed elsewhere meanwhile: press Read again first")
        write_whole(path, text.encode("utf-8"))
        self._read = text
        _drafts.pop(str(path), None)
        if self.check():
            self.vans.read()
            return f"Saved in {path}. The file is fine."
        return f"Saved in {path}, with what is still wrong."

    def check(self) -> bool:
        """Read the text as it stands and tell what is wrong; gives whether nothing is."""
        return self._checked_build() is not None

    def _checked_build(self) -> Build | None:
        """The build that the text is, or None; what is wrong is told."""
        try:
            found = loads(self.editor.text, path=self.build.path)
        except BuildError as error:
            self.editor.tell(error)
            return None
        self.editor.tell(None)
        return found

    def start_new(self, name: str, source: str) -> str:
        """Start a build file of that name beside the notebook, and choose it."""
        return self._begin(
            name, template(source) if source in START.values() else example(source).text
        )

    def _begin(self, name: str, text: str) -> str:
        """A file of that name beside the notebook, of a text that is a build."""
        stem = name.strip().removesuffix(".toml")
        if not stem or Path(stem).name != stem:
            raise ValueError("type a plain name without / or \\, such as my-van")
        path = Path(f"{stem}.toml").absolute()
        if path.exists():
            raise ValueError(f"{path.name} exists and is left as it is; choose another name")
        save(changed(text, {"van.name": stem}), path)
        self.vans.choose(str(path))
        self.sections.open("the file")
        return f"{path} is ready: put in your van's values."

    def write(self, folder: str, remark: str, revision: str, date: str) -> str:
        """Write the pack; the remark is kept in the build file and printed on the sheet."""
        if self.vans.problem or self._stale:
            raise ValueError("the file has problems: mend them first")
        if self.editor.text != self._read:
            raise ValueError("the file is changed and not saved: press Save first")
        if remark.strip() != self.build.van.note.strip():
            self._remark(remark.strip())
        out = Path(folder.strip() or self._folder()).expanduser().absolute()
        paths = self.pack.write(
            out, revision=revision.strip(), date=date.strip(), progress=self.writing.say
        )
        self.writing.files = [p for p in paths if p.name in ("sheet.pdf", "sheet.html")]
        return f"{len(paths)} files are in {out}. The sheet: sheet.pdf, or sheet.html anywhere."

    def _remark(self, remark: str) -> None:
        said = {"van.note": remark or None}
        if self.path is not None:
            self._take(change(self.path, said))
        else:
            text = changed(self.build.text, said)
            self._take(loads(text, path=self.build.path))

    def _to(self, build: Build | None) -> None:
        assert build is not None  # this menu has nothing but files and examples
        _last["van"] = self.vans.key.removeprefix("example ")
        self._take(build)

    def _to_broken(self, path: Path) -> None:
        """A file that is no build yet, to be mended here; nothing follows from it till then."""
        text = read_text(path)
        _last["van"] = str(path)
        self._take(_unmended(path, text), none_yet=True)

    def _take(self, build: Build, *, none_yet: bool = False) -> None:
        """Show another build, or the same one changed."""
        self.build, self.pack, self._none_yet = build, Pack(build), none_yet
        self._show_text()
        entries = self.writing.entries
        entries[0].value, entries[1].value = self._folder(), build.van.note
        self.sections.anew(self._makers())

    def _show_text(self) -> None:
        """The text of the file, or what was typed into it and not saved."""
        self._read = self.build.text
        self.editor.fixed = self.path is None
        text = _drafts.get(str(self.path), self._read)
        if (self.path, text) != (self._shown, self.form.form.text):
            self.form.restart(text, fixed=self.path is None)
        self._shown = self.path  # a file just saved keeps its steps to undo
        self.editor.text = text
        self._follow()
        self._tell_saved()
        self._now.value = ""
        self._sum_up_later()

    def _from_form(self, text: str) -> None:
        self.editor.text = text

    def _typed(self, change: Any) -> None:
        """The text is another, by hand or by the form: all that is shown is of it."""
        if self.path is not None:
            if change["new"] != self._read:
                _drafts[str(self.path)] = change["new"]
            else:
                _drafts.pop(str(self.path), None)
        self.form.follow(change["new"])
        self._follow()
        self._tell_saved()
        self._sum_up_later()

    def _follow(self) -> None:
        """Answers and worksheets of the text on the screen; of the last whole one if it is none."""
        text = self.editor.text
        found = self._checked_build()
        self._stale = found is None
        if found is not None and (self._none_yet or text != self.build.text):
            self.build, self.pack, self._none_yet = found, Pack(found), False
        if hasattr(self, "_file"):
            self.sections.anew(self._makers(), keep="the file")

    def _sum_up_later(self) -> None:
        """Some answers in one line, once the reader pauses; until then they are told as old."""
        if self._later is not None:
            self._later.cancel()
            self._later = None
        self._now.add_class("vp-old")
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # outside a notebook nobody looks at the line
            return
        if not self._stale:
            self._now.value = '<div class="vp-note" role="status">works it out …</div>'
            self._later = loop.call_later(PAUSE, self._sum_up_aside, loop)

    def _sum_up_aside(self, loop: asyncio.AbstractEventLoop) -> None:
        """Review the van on a thread of its own: whoever goes on does not wait for it.

        It takes seconds.  The thread has a pack of its own, and what it finds of a van that is no
        longer on the screen is dropped.
        """
        build = self.build

        def told() -> str:
            return _in_short(Pack(build)) if self.build is build else ""

        def done(work: asyncio.Future[str]) -> None:
            if self.build is build and not self._stale:
                self._tell_now(work.result())

        loop.run_in_executor(_aside, told).add_done_callback(done)

    def sum_up(self) -> None:
        """Tell, of what is on the screen, how long the water lasts and what the review found."""
        self._tell_now(_in_short(self.pack))

    def _tell_now(self, told: str) -> None:
        self._now.value = told
        self._now.remove_class("vp-old")

    def _tell_saved(self) -> None:
        if self.path is None:
            told = "An example, which stays as it is. Start a new one like it to change it."
        elif self.editor.text != self._read:
            told = "Changed, not saved yet."
        else:
            told = f"{self.path}, as saved."
        self._told.value = f'<div class="vp-note" role="status">{escape(told)}</div>'

    def _file_page(self) -> widgets.VBox:
        buttons = []
        for name, icon, act in (("Check", "check", self._checked), ("Save", "save", self.save)):
            one = widgets.Button(description=name, icon=icon)
            one.add_class(f"vp-do-{name.lower()}")
            one.on_click(lambda _, act=act: self.editor.as_typed(lambda: self._acted(act)))
            buttons.append(one)
        row = widgets.HBox(buttons)
        row.add_class("vp-buttons")
        beside = widgets.Box([self.form.widget, self.editor])
        beside.add_class("vp-form-and-text")
        hint = widgets.HTML(f"<p>{escape(HINT)}</p>")
        return widgets.VBox([hint, row, self._told, self._now, beside])

    def _checked(self) -> str:
        return "The file is fine." if self.check() else "Mend these, listed below the text."

    def _acted(self, act: Callable[[], str]) -> None:
        try:
            told, good = act(), not self.editor.problems
        except (ValueError, OSError, BuildError) as error:
            told, good = str(error), False
        except Exception as error:  # a callback's error is lost otherwise
            told, good = f"This page has a fault: {type(error).__name__}: {error}", False
        self._told.value = look.said(told, good=good)

    def _start_panel(self) -> Panel:
        like = {f"like {name.capitalize()}": name for name in examples()}
        source = widgets.Dropdown(description="from", options=START | like)
        name = widgets.Text(value="my-van", description="name")
        hint = "A build file of your own, beside this notebook"
        return Panel("Start a new one", "plus", [name, source], self.start_new, hint, "Start")

    def _write_panel(self) -> Panel:
        entries = [
            widgets.Text(value=self._folder(), description="folder"),
            widgets.Text(value=self.build.van.note, description="remark"),
            widgets.Text(description="revision", placeholder="such as A"),
            widgets.Text(description="date", placeholder="such as 2025-03-03"),
        ]
        entries[1].placeholder = "printed on the sheet, kept in the file"
        hint = "The sheet as PDF and HTML, drawings, lists and papers, in a folder"
        return Panel("Write the sheet", "file-pdf-o", entries, self.write, hint)

    def _folder(self) -> str:
        path = self.path
        name = path.stem if path is not None else file_name(self.build.van.name, "van")
        return f"{name}-pack"

    def _makers(self) -> Makers:
        build, pack = self.build, self.pack
        return {
            "the file": lambda: self._file,
            "names of parts": lambda: _names_page(build.van.units),
            "answers": self._whole(lambda: widgets.HTML(paper.answers(pack).html)),
            "what the review noticed": self._whole(lambda: widgets.HTML(paper.findings(pack).html)),
            **{name: self._whole(make) for name, make in worksheets_of(build, pack).items()},
        }

    def _whole(self, make: Callable[[], widgets.Widget]) -> Callable[[], widgets.Widget]:
        """A page of the text on the screen; told and greyed where that is no build just now."""
        if not self._stale:
            return make
        if self._none_yet:
            told = "The file has problems, which stand below its text: mend them first."
            return lambda: widgets.HTML(look.said(told, good=False))

        def made() -> widgets.Widget:
            page = make()
            page.add_class("vp-old")
            told = "The file has problems: what follows is of the van as it last was whole."
            return widgets.VBox([widgets.HTML(f'<div class="vp-stale">{told}</div>'), page])

        return made


def my_van(name: str = "") -> MyVan:
    """The page, opened with one of the examples or with a build file of that path.

    If none is named, with the van that was chosen last since the notebook was opened, else with
    the reader's own file beside it that was changed last, if there is one.
    """
    wanted = name or _last["van"] or own.newest() or "dipper"
    if wanted in examples():
        return MyVan(example(wanted))
    try:
        return MyVan(load(wanted))
    except BuildError:
        text = read_text(wanted)  # a file that can't be read at all is told as ever
        return MyVan(_unmended(Path(wanted).absolute(), text), none_yet=True)


def _unmended(path: Path, text: str) -> Build:
    """What stands for the van of a file that is no build yet."""
    empty = loads(template("SI"))
    return replace(empty, van=replace(empty.van, name=path.name), path=path, text=text)


def _in_short(pack: Pack) -> str:
    """How long the water lasts and what the review found, as HTML."""
    try:
        nights = show(pack.water.nights, "count", pack.build.van.units)
        counts: dict[str, int] = {}
        for one in pack.findings:
            counts[one.severity] = counts.get(one.severity, 0) + 1
        found = ", ".join(f"{word}: {n}" for word, n in counts.items()) or "nothing"
        told = f"Water for {nights} nights. The review noticed {found}."
        worst = [f for f in pack.findings if f.severity in ("DANGER", "WARNING")][:3]
        lines = "".join(
            f"<li>{escape(f.severity)}, {escape(f.where)}: {escape(f.what)}</li>" for f in worst
        )
        return f'<div class="vp-note" role="status">{escape(told)}</div><ul>{lines}</ul>'
    except Exception as error:  # shown in the page: a callback's error is lost otherwise
        return look.said(f"Not worked out: {error}", good=False)


def _names_page(system: str) -> widgets.Widget:
    """The names that a build file may use, one table at a time."""
    tables = {title.lower(): name for name, title in named_in_builds().items()}
    menu = widgets.Dropdown(description="which", options=tables, value="tubes")
    units = widgets.Dropdown(description="units", options=["US", "SI"], value=system)
    shown = widgets.HTML()

    def show(_: Any = None) -> None:
        shown.value = look.grid_table(names_grid(menu.value, units.value), units.value)

    menu.observe(show, "value")
    units.observe(show, "value")
    show()
    row = widgets.HBox([menu, units])
    row.add_class("vp-buttons")
    return widgets.VBox([row, shown])
