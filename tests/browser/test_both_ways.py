"""One van from enquiry to return, once by phone and once by terminal: the same record."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page

from tests.small_van import SMALL_VAN
from vanplumb.cli import FINE, main
from vanplumb.explore.open_questions import open_questions
from vanplumb.pack import Pack
from vanplumb.sheet.bench_page import write_bench_page
from vanplumb.sheet.pack_folder import contents, what_is_not_whole
from vanplumb.shop.record.history import states
from vanplumb.shop.record.record import Record
from vanplumb.van import load

pytestmark = pytest.mark.browser
START = datetime.now().astimezone().replace(microsecond=0) - timedelta(hours=4)
WITH = ("expander 2", "R-2401")  # tool and batch
WIDE = 420  # of the phone's screen
FORM = {"pump, cut-in": "31 psi", "pump, cut-out": "41 psi", "tap, flow": "1.25 gpm",
        "chlorine at the start": "52 mg/L", "drained: tank": "done",
        "steps before frost tried": "done"}  # fmt: skip
ASKED, ANSWERED = 'units = "US"', 'units = "US"\nlength = "17 ft"\naltitude = "900 ft"'
"""What the survey leaves open, and what the owner and the tape said."""
PRICED = "[shop]\nrate = 70\ntax = 0.07\n\n[[fixture]]\nprice = 38"
OFFICE = ("survey", "quote", "order")
OWN = ("entry", "noted", "record")
"""Details that tell when and by which way an entry came; the record's own mark at a hand-over."""


class Clock:
    """What the workshop's computer says the time is: that of the last reading."""

    minutes = 0.0

    def __call__(self) -> str:
        return (START + timedelta(minutes=self.minutes)).isoformat(sep=" ")


class Way:
    """A van's file in a folder of its own, and what is said to the terminal about it."""

    clock = Clock()

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        self.file = folder / "siskin.toml"
        self.file.write_text(SMALL_VAN, encoding="utf-8")
        self.pack = Pack(load(self.file))

    def enquired(self) -> None:
        """The survey of what is open, its answers, the quote and the order."""
        assert "altitude" in self.paper("survey")
        said = SMALL_VAN.replace(ASKED, ANSWERED).replace("[[fixture]]", PRICED)
        self.file.write_text(said, encoding="utf-8")
        self.pack = Pack(load(self.file))
        assert "altitude" not in [q.key for q in open_questions(self.pack.build)]
        assert "Total with tax" in self.paper("quote")
        assert "Lines to order" in self.paper("order")

    def paper(self, name: str) -> str:
        """One paper of the office; gives its page's words."""
        assert main([name, str(self.file)]) == FINE
        page = self.file.with_name(f"siskin-{name}") / f"{name}.html"
        return page.read_text(encoding="utf-8")

    def papers(self) -> dict[str, dict[str, str]]:
        """What the folders of the office's papers list, a mark for each file."""
        found = {name: self.file.with_name(f"siskin-{name}") for name in OFFICE}
        assert all(what_is_not_whole(folder) == [] for folder in found.values())
        return {name: contents(folder)["files"] for name, folder in found.items()}

    def say(self, *words: str) -> None:
        assert main(["record", str(self.file), *words]) == FINE, words

    def told(self) -> list[tuple[int, str, dict[str, Any]]]:
        """The record without times and marks: number, kind and details of each entry."""
        found = Record(self.file.with_suffix(".log")).read()
        assert found.problems == ()
        return [
            (e.number, e.kind, {k: v for k, v in e.details.items() if k not in OWN})
            for e in found.events
        ]

    def made(self, joint: str) -> None:
        tool, batch = WITH
        self.say("made", joint, "--by", "ND", "--tool", tool, "--batch", batch)

    def gauge(self) -> None:
        self.say("gauge", "G 5", "--range", "0 psi to 160 psi", "--step", "0.5 psi", "--by", "ND")

    def read(self, pressure: str, minutes: float) -> None:
        self.clock.minutes = minutes
        when = ("--at", self.clock())
        self.say("read", f"{pressure} psi", "66 °F", "--gauge", "G 5", *when, "--by", "ND")

    def wept(self, joint: str) -> None:
        self.say("wept", joint, "--by", "ND")

    def again(self, joint: str) -> None:
        tool, batch = WITH
        how = ("--how", "made again", "--tool", tool, "--batch", batch)
        self.say("repaired", joint, *how, "--by", "ND")

    def dosed(self) -> None:
        self.say("dosed", "50 mg/L", "4 h", "--by", "ND")
        self.say("flushed", "0.4 mg/L", "--by", "ND")

    def fitted(self) -> None:
        self.say("fitted", "pump", "--serial", "P 17", "--batch", "L9", "--by", "ND")

    def commissioned(self) -> None:
        for line, value in FORM.items():
            self.say("commission", line, value, "--by", "ND")

    def noted(self) -> None:
        self.say("note", "the owner wants a spare strainer", "--by", "ND")

    def handed_back(self) -> None:
        """By terminal there is nothing to hand back."""


class ByPhone(Way):
    """The same said to the page; what it hands back is taken."""

    def __init__(self, folder: Path, page: Page) -> None:
        super().__init__(folder)
        self.page = page
        self.order: list[str] = []

    def enquired(self) -> None:
        super().enquired()
        page = self.page
        page.goto(write_bench_page(self.pack.shop, self.file.parent).as_uri())
        page.evaluate("document.querySelectorAll('#page > details').forEach(d => d.open = true)")
        page.fill("#who", "ND")
        page.fill("#tool", WITH[0])
        page.fill("#batch", WITH[1])
        self.order = [j for g in self.groups().values() for j in g]

    def paper(self, name: str) -> str:
        """The same, read on the phone: it is of this state of the van, and nothing runs out of
        its width."""
        super().paper(name)
        page = self.page
        page.goto((self.file.with_name(f"siskin-{name}") / f"{name}.html").as_uri())
        words = page.inner_text("body")
        assert self.pack.build.mark in words and "SIGNATURES" in words.upper()
        assert page.evaluate("document.documentElement.scrollWidth") <= WIDE
        return words

    def groups(self) -> dict[str, list[str]]:
        """Joints as the page shows them: place by place."""
        found: dict[str, list[str]] = {}
        for joint in self.pack.shop.joints:
            found.setdefault(joint.line or joint.place, []).append(joint.name)
        return found

    def part(self, title: str) -> Locator:
        return self.page.locator(f"#page > details:has(> summary:text-is('{title}'))")

    def joint(self, name: str) -> Locator:
        return self.page.locator(".joint").nth(self.order.index(name)).locator("button")

    def made(self, joint: str) -> None:
        self.joint(joint).first.click()

    again = made

    def wept(self, joint: str) -> None:
        self.joint(joint).nth(1).click()

    def fill(self, title: str, **fields: str) -> None:
        for label, text in fields.items():
            said = label.replace("_", " ")
            self.part(title).locator(f"label:has-text('{said}') input").first.fill(text)

    def press(self, title: str, button: str) -> None:
        self.part(title).locator(f"button:text-is('{button}')").click()

    def gauge(self) -> None:
        self.fill("Pressure test", Serial_number="G 5", Smallest_step="0.5", Range_to="160")
        self.press("Pressure test", "Note the gauge")

    def read(self, pressure: str, minutes: float) -> None:
        self.page.clock.set_fixed_time(START + timedelta(minutes=minutes))
        self.fill("Pressure test", Serial_number="G 5", Pressure=pressure, Temperature="66")
        self.press("Pressure test", "Note the reading")

    def dosed(self) -> None:
        self.fill("Disinfecting", Strength="50", Time_it_stood="4", Chlorine_left="0.4")
        self.press("Disinfecting", "Note it")
        self.press("Disinfecting", "Note what is left")

    def fitted(self) -> None:
        self.part("Parts and serial numbers").locator("select").select_option("pump")
        self.fill("Parts and serial numbers", Serial_number="P 17", Batch="L9")
        self.press("Parts and serial numbers", "Note the part")

    def commissioned(self) -> None:
        for name, value in FORM.items():
            line = self.part("Commissioning").locator(".line", has_text=name).first
            if value == "done":
                line.locator("button:text-is('Done')").click()
            else:
                line.locator("input").first.fill(value.split()[0])
                line.locator("button:text-is('Note it')").click()

    def noted(self) -> None:
        self.fill("Anything else", Note="the owner wants a spare strainer")
        self.press("Anything else", "Keep the note")

    def handed_back(self) -> None:
        with self.page.expect_download() as waiting:
            self.page.click("#hand-back")
        back = self.file.with_name("back.json")
        waiting.value.save_as(back)
        self.say("take", str(back))


def from_enquiry_to_return(way: Way) -> None:
    """What happens to the van; what only the workshop's computer does is said to it both ways."""
    way.enquired()
    joints = sorted(j.name for j in way.pack.shop.joints)
    for joint in joints:
        way.made(joint)
    way.gauge()
    for pressure, minutes in (("64", 10), ("64", 17), ("64", 25.5)):
        way.read(pressure, minutes)
    way.handed_back()
    way.say("test", "--by", "ND")
    way.dosed()
    way.fitted()
    way.commissioned()
    way.noted()
    way.handed_back()
    way.say("open")
    mark = way.pack.build.mark
    way.say("hand-over", "--by", "ND", "--to", "the owner", "--sheet", mark)
    way.say("back", "--why", "a wet floor", "--by", "ND")
    way.wept(joints[0])
    way.again(joints[0])
    for pressure, minutes in (("63", 100), ("63", 107), ("63", 115.5)):
        way.read(pressure, minutes)
    way.handed_back()
    way.say("test", "--by", "ND")
    way.say("claim", joints[0])


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(
        viewport={"width": WIDE, "height": 800}, offline=True, has_touch=True, accept_downloads=True
    )
    yield context.new_page()
    context.close()


def test_phone_and_terminal_end_in_the_same_record(
    phone: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Record.__init__, "__defaults__", (Way.clock,))
    phone.clock.set_fixed_time(START)
    by_phone, by_terminal = ByPhone(tmp_path / "phone", phone), Way(tmp_path / "terminal")
    from_enquiry_to_return(by_phone)
    from_enquiry_to_return(by_terminal)
    assert by_phone.papers() == by_terminal.papers()
    told = by_phone.told()
    assert told == by_terminal.told()
    kinds = [kind for _, kind, _ in told]
    assert {"handed over", "came back", "joint wept", "joint repaired"} <= set(kinds)
    assert kinds.count("system tested") == 2
    record = Record(by_phone.file.with_suffix(".log")).read()
    assert {s.state for s in states(record).values()} == {"tight"}
    assert phone.evaluate("document.documentElement.scrollWidth") <= WIDE
    for folder in (by_phone.file.parent, by_terminal.file.parent):
        assert (folder / "siskin-order" / "order.pdf").exists()
        assert len(list(folder.glob("siskin-claims/*/claim.pdf"))) == 1
