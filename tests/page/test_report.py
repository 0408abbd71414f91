"""The page as text: nothing in it runs or loads that is not its own, and it tells what the results say."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from loopnet.errors import DataError, ParameterError
from loopnet.money import price_book
from loopnet.page import report_html, write_report
from loopnet.report import hazards
from loopnet.study import Case, Ranking, fit_surfaces, uncertainty
from loopnet.year import Operation

from ..command import run
from .conftest import DATE, EVIL, EVIL_TITLE


class Reader(HTMLParser):
    """Elements with their attributes, text by element, all ids."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.inside: list[str] = []
        self.scripts: list[str] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.inside.append(tag)
        if tag == "script":
            self.scripts.append("")

    def handle_endtag(self, tag):
        if tag in self.inside:
            del self.inside[-1 - self.inside[::-1].index(tag):]

    def handle_data(self, data):
        if "script" in self.inside:
            self.scripts[-1] += data
        elif "style" not in self.inside:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def html(page) -> str:
    return page.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def read(html) -> Reader:
    return Reader(html)


# -- nothing runs, nothing loads ---------------------------------------------------------------------------------------


def test_a_name_is_shown_and_not_run(html, read):
    assert [kind.get("type") for tag, kind in read.tags if tag == "script"] == ["application/json", None]
    assert not [tag for tag, _ in read.tags if tag in ("img", "iframe", "object", "embed", "foreignobject")]
    assert EVIL in read.text
    assert EVIL_TITLE.replace("\x1b", "\ufffd") in read.text  # with its braces, so no template read it
    assert "\x1b" not in html
    assert "alert(1)" not in read.scripts[1]
    drawn = [words for words in read.words if EVIL in words]
    assert len(drawn) > 10
    assert html.count("&lt;script&gt;alert(1)") > 10


def test_no_attribute_runs_or_styles(read):
    wrong = [(tag, name) for tag, attributes in read.tags for name in attributes
             if name.startswith("on") or name == "style"]
    assert wrong == []


def test_it_points_nowhere_else(html, read):
    targets = [value or "" for tag, attributes in read.tags for name, value in attributes.items()
               if name in ("src", "href", "xlink:href", "action", "data", "srcset")]
    assert targets
    assert [t for t in targets if not t.startswith("#") and t != "data:,"] == []
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style
    assert "@import" not in style[1]
    assert "url(" not in style[1]


def test_the_policy_names_style_and_script_by_their_fingerprints(html, read):
    # book: Content Security Policy Level 3, W3C, "hash-source": SHA-256 of the element's text, base64; from memory
    policy = next(a["content"] for tag, a in read.tags
                  if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy")
    assert policy
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in policy
    for word, text in (("style-src", re.search(r"<style>(.*?)</style>", html, re.DOTALL)),
                       ("script-src", re.search(r"<script>(.*?)</script>", html, re.DOTALL))):
        assert text
        print_of = base64.b64encode(hashlib.sha256(text[1].encode()).digest()).decode()
        assert rules[word] == f"'sha256-{print_of}'"


def test_ids_are_one_of_a_kind_and_found(html, read):
    ids = [a["id"] for _, a in read.tags if "id" in a]
    assert len(ids) == len(set(ids))
    wanted = set(re.findall(r'url\(#([\w-]+)\)', html)) | set(re.findall(r'href="#([\w-]+)"', html))
    wanted |= {word for _, a in read.tags for word in (a.get("aria-labelledby") or "").split()}
    assert len(wanted) > 20
    assert wanted <= set(ids)


# -- the same input, the same bytes ------------------------------------------------------------------------------------


def test_the_same_input_gives_the_same_bytes_but_for_the_date(found, sky):
    one, again, later = (report_html(found[2], weather=sky, date=date) for date in (DATE, DATE, "2027-11-30"))
    assert one == again
    assert later != one
    assert later.replace("2027-11-30", DATE) == one


# -- it tells what the results say -------------------------------------------------------------------------------------


def test_the_answer_is_that_of_the_results(found, read):
    best, rival, heat = found
    gap = rival.cost.usd_per_kwh - best.cost.usd_per_kwh
    assert gap > 0
    assert (f"{best.plant.title} (sand_silo) is the cheapest: a kWh costs {100 * best.cost.usd_per_kwh:.1f} US cents, "
            f"{100 * gap:.1f} ({100 * gap / rival.cost.usd_per_kwh:.1f} %) less than from the next") in read.text
    assert re.search(r"stays the cheapest in (more than )?[\d.]+ % of 10,000 draws, in which prices alone", read.text)
    assert f"A kWh of heat from Oil for a kiln (hot_oil) costs {100 * heat.cost.usd_per_kwh:.1f} US cents" in read.text


def test_different_goods_are_ranked_apart(found, read):
    captions = [w.strip() for w in read.words if w.startswith("Plants that make")]
    assert captions == ["Plants that make electricity, cheapest first", "Plants that make heat, cheapest first"]
    assert "ranked apart" in read.text


def test_figures_are_those_of_rank(found, read):
    figures = json.loads(read.scripts[0])
    assert [f["name"] for f in figures] == [a.name for a in found]
    for told, a in zip(figures, found, strict=True):
        chance = told.pop("probability_first")
        assert 0.0 <= chance <= 1.0
        assert told == json.loads(json.dumps(a.to_dict()))


def test_every_price_source_caution_and_component_is_told(found, read):
    text = read.text
    lines = [line for a in found for line in (*a.bill, *a.cost.operation_lines)]
    assert len({line.price.key for line in lines}) > 20
    missing = [line.price.key for line in lines if line.price.key not in text
               or " ".join(line.price.source.split()) not in text]
    cautions = [s for sentences in hazards(a.plant for a in found).values() for s in sentences]
    assert len(cautions) > 8
    missing += [s for s in cautions if " ".join(s.split()) not in text]
    missing += [name for a in found for name in a.plant.components if name not in text]
    assert missing == []


def test_what_fuel_gives_is_told_apart(found, read):
    (helped,) = found[2].back_up
    assert 0.01 < helped.share < 0.99
    assert f"The plant gives {100 * helped.share:.1f} % of what user wants; gas gives the rest" in read.text
    assert "from the sun the rest from fuel" in read.text
    assert "gas boiler" in read.text.lower()


def test_how_it_is_run_and_how_exact_that_is_are_told(found):
    read_off = replace(found[2], year=replace(found[2].year, error=0.0123))
    told = Reader(report_html(read_off, operation=Operation(ready=0.93), date=DATE)).text
    assert "its delivery is right to some 1.23 % (estimated)" in told
    assert re.search(r"How the plants are run .* ready 0\.93 ", told)


def test_limits_and_what_it_is_not_always_stand_there(found, sky, read):
    for words in ("No permit.", "No safety case.", "No bankable yield.", "licensed practice decide",
                  "This is no whole year: only 4 days", "invented"):
        assert words in read.text
    assert "No limit of a medium or a component was met" in read.text
    warned = replace(found[0], cost=replace(found[0].cost, warnings=("a price <b>far</b> out",)))
    told = report_html(warned, date=DATE)
    assert "a price &lt;b&gt;far&lt;/b&gt; out" in told
    assert "No limit of a medium or a component was met" not in told


def test_how_to_make_it_again(read, sky, html):
    assert sky.fingerprint in read.text
    assert "loopnet report '<b>a & b</b>'" in read.text
    for library in ("numpy", "matplotlib", "CoolProp", "Python"):
        assert re.search(rf"{library} \d+\.\d+", read.text)


def test_every_picture_has_words(read):
    pictures = [(tag, a) for tag, a in read.tags if tag == "svg"]
    assert len(pictures) >= 11
    for _, a in pictures:
        assert a["role"] == "img"
        title, told = (a["aria-labelledby"] or "").split()
        assert title.endswith("-title")
        assert told.endswith("-desc")
    assert "net electricity" in read.text  # text of pictures is text


def test_light_enough_to_send(page):
    assert 50_000 < page.stat().st_size < 3_000_000


# -- what is given ---------------------------------------------------------------------------------------------------


def test_without_weather_it_says_what_it_does_not_know(found):
    told = Reader(report_html(found[:2], date=DATE)).text
    assert "how sure that is has not been reckoned" in told
    assert "What moves the cost" not in told
    assert "Why the first wins" in told


def test_one_plant_is_enough(found, sky):
    told = Reader(report_html(found[0], weather=sky, date=DATE)).text
    assert "nothing to rank it against" in told
    assert "in eight of ten draws, in which prices alone vary" in told


def test_draws_that_were_asked_for_are_told(found, sky):
    cases = [Case.of(a, sky) for a in found[:2]]
    drawn = uncertainty(cases, fit_surfaces(cases, only=("rate",), jobs=1), samples=500, seed=7)
    page = report_html(found[:2], weather=sky, uncertain=[drawn], date=DATE)
    told = Reader(page).text
    assert "500 draws, in which prices, physics and finance vary" in told
    assert "seed 7" in told
    assert "discount rate" in told
    # how long the draws took is no part of the page: it would differ from run to run
    assert report_html(found[:2], weather=sky, uncertain=[replace(drawn, seconds=99.0)], date=DATE) == page


@pytest.mark.parametrize(("options", "words"), [
    ({"date": "soon"}, "this is no date"), ({"weather": "other"}, "different weather"),
    ({"book": "doubled"}, "not the prices"), ({"uncertain": "other"}, "draws are of other plants")])
def test_what_does_not_belong_together_is_refused(found, sky, options, words):
    made = {"weather": sky, **options}
    if options.get("weather"):
        made["weather"] = replace(sky, name="elsewhere")
    if options.get("book"):
        made["book"] = price_book().scaled(2.0)
    if options.get("uncertain"):
        case = Case.of(found[0], sky)
        made["uncertain"] = [uncertainty([case], fit_surfaces([case], only=()), samples=100)]
    with pytest.raises((ParameterError, DataError), match=words):
        report_html(found[:2], **made)


def test_no_plant_and_two_of_a_name_are_refused(found):
    with pytest.raises(ParameterError, match="needs a plant"):
        report_html([])
    with pytest.raises(ParameterError, match="one name"):
        report_html([found[0], found[0]])


def test_a_ranking_serves_as_well(found):
    told = report_html(Ranking(found[0].weather, found[1:]), date=DATE)
    assert told == report_html(found[:0:-1], date=DATE)


def test_a_file_that_cannot_be_written_is_named(found, tmp_path):
    with pytest.raises(DataError, match="cannot write there"):
        write_report(found[0], tmp_path, date=DATE)


# -- the command -------------------------------------------------------------------------------------------------------


def test_the_command_writes_the_page(tmp_path):
    target = tmp_path / "new folder" / "my report.html"
    said = run("report", "sand_silo", "-o", target, "--date", DATE, "--outage", "01-02 to 01-03", "--ready", "96 %")
    assert said.status == 0, said.err
    assert "opens in any browser" in said.out
    read = Reader(target.read_text(encoding="utf-8"))
    assert (f"loopnet report sand_silo -o '{target}' --outage '01-02 to 01-03' --ready '96 %' --date {DATE}"
            in read.text)
    assert "outages 01-02 to 01-03" in read.text
    assert "This is no whole year" not in read.text


@pytest.mark.parametrize(("arguments", "words"), [
    (("--date", "1 March"), "this is no date"), (("--uncertain", "3"), "too few draws"), (("-o", "."), "a folder")])
def test_bad_options_are_refused_before_the_work(tmp_path, monkeypatch, arguments, words):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("loopnet.commands.report.assess_named", None)
    said = run("report", "sand_silo", *arguments)
    assert said.status == 2
    assert words in said.err
    assert len(said.err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
