"""What every printed page promises: the same bytes twice, all the words on it, text that stays text, no path inside."""

from __future__ import annotations

import datetime
import functools
import io
from importlib import resources
from pathlib import Path

import msgspec
import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from vanewise import prints
from vanewise.aircraft.layouts import make
from vanewise.contamination import FrontFinding, SheddingEvent, trace
from vanewise.errors import InputError
from vanewise.groundrun import GroundRunPlan, GroundRunReading, TestPoint
from vanewise.prints import press
from vanewise.quantities import PA_PER_INHG
from vanewise.record.entry import Hours
from vanewise.record.tags import filter_tag, hose_end_tags, removed_tag
from vanewise.record.types import MaintenanceRecord, RecordField
from vanewise.work.plan import plan

TODAY = datetime.date(2025, 2, 22)
NASTY = 'Club #strong[four] *seater* $x^2$ @ref <label> \\ "quoted" _under_ // {code}'
INHG = PA_PER_INHG


def package_of(name="Club four-seater"):
    description = msgspec.structs.replace(make("suction-one-pump"), name=name)
    scope = trace(description, None, SheddingEvent(part="pump", kind="stop", altitude_m=1371.6))
    return plan(
        description,
        "debris_left_in_lines",
        scope,
        today=TODAY,
        place="pump",
        report=("attitude indicator leaned 6 deg right",),
    )


PACKAGE = package_of()
RUN = GroundRunPlan(
    points=tuple(
        TestPoint(
            engine_rpm=rpm,
            low_pa=low * INHG,
            high_pa=high * INHG,
            middle_pa=(low + high) / 2 * INHG,
            exposes=("hose off", f"cause {rpm:.0f}"),
            note="lamp out",
        )
        for rpm, low, high in ((700.0, 1.2, 2.4), (1200.0, 3.5, 4.6), (2400.0, 4.6, 5.4))
    ),
    altitude_m=122.0,
    temperature_k=288.0,
    band_low_pa=4.6 * INHG,
    band_high_pa=5.2 * INHG,
    lamp_rpm_low=950.0,
    lamp_rpm_high=1200.0,
    cautions=("Area clear.", "Above the band: stop."),
    basis=("7 earlier readings",),
    latitude_deg=45.0,
    cover_rpm=1200.0,
    gyros=("attitude indicator", "heading indicator"),
    has_autopilot=True,
)
RECORD = MaintenanceRecord(
    aircraft="Club four-seater",
    fields=(
        RecordField(
            name="description of work",
            text="Found\nForeign carbon.\n\nDone\nReplace 4 hoses.",
            required_by="description of the work",
        ),
    ),
    missing=("signature", "certificate number", "kind of certificate"),
    text="",
    package=PACKAGE.id,
    head_digest="0123abcd" * 8,
    drafted_on=TODAY,
)
TAGS = (
    *hose_end_tags("Club four-seater", PACKAGE.hose_tags),
    filter_tag("Club four-seater", "central filter", Hours(tach_centihours=298390), TODAY, by="A. Person"),
    removed_tag(
        "Club four-seater", "pump", Hours(tach_centihours=298390), TODAY, reason="stopped in flight", serial="B-1"
    ),
)


def card(page="a4", **more):
    return prints.ground_run_card_pdf(
        RUN, aircraft="Club four-seater", dated=TODAY, package=PACKAGE.id, page=page, **more
    )


READINGS = (
    GroundRunReading(id="a", what="gauge", engine_rpm=1200.0, value=4.1 * INHG, direction="rising"),
    GroundRunReading(id="b", what="gauge", engine_rpm=1200.0, value=4.3 * INHG, direction="falling"),
    GroundRunReading(id="c", what="lamp out", value=1070.0),
)


def brief(page="a4"):
    return prints.pilot_brief_pdf(
        RUN,
        READINGS,
        aircraft="Club four-seater",
        dated=TODAY,
        run_up_rpm=1200.0,
        cruise_rpm=2400.0,
        package=PACKAGE.id,
        page=page,
    )


PAGES = {
    "pilot brief": brief,
    "work package": lambda page: prints.work_package_pdf(PACKAGE, page=page),
    "hose map": lambda page: prints.hose_map_pdf(PACKAGE, page=page),
    "ground-run card": card,
    "record": lambda page: prints.record_pdf(RECORD, page=page),
}


@functools.cache
def printed(name, page="a4"):
    return PAGES[name](page)


SIZES = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}


@functools.cache
def text_of(pdf):
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


def squeezed(words):
    """Without spaces: a line break in a table cell is no difference."""
    return "".join(words.split())


@pytest.mark.parametrize("page", ["a4", "letter"])
@pytest.mark.parametrize("name", sorted(PAGES))
def test_same_bytes_twice_and_the_right_paper(name, page):
    first, second = printed(name, page), PAGES[name](page)
    assert first == second
    box = PdfReader(io.BytesIO(first)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(SIZES[page], abs=0.5)


@pytest.mark.parametrize("name", sorted(PAGES))
def test_every_page_says_what_it_is_and_how_many_there_are(name):
    reader = PdfReader(io.BytesIO(printed(name)))
    for number, page in enumerate(reader.pages, start=1):
        words = " ".join(page.extract_text().split())
        assert f"page {number} of {len(reader.pages)}" in words
        assert "Club four-seater" in words
        assert PACKAGE.id[:12] in words


@pytest.mark.parametrize("name", sorted(PAGES))
def test_nothing_of_this_machine_is_inside(name):
    pdf = printed(name)
    reader = PdfReader(io.BytesIO(pdf))
    here = str(Path(str(resources.files("vanewise.prints"))))
    words = text_of(pdf) + repr(dict(reader.metadata or {}))
    for path in (here, str(Path.home()), "/usr", "/tmp", "\\Users"):
        assert path not in words
        assert path.encode() not in pdf
    assert (reader.metadata or {}).get("/CreationDate", "").startswith("D:20250222")


@pytest.mark.parametrize("name", sorted(PAGES))
def test_only_the_shipped_type_is_used(name):
    fonts = set()
    for page in PdfReader(io.BytesIO(printed(name))).pages:
        fonts |= {str(font.get_object()["/BaseFont"]) for font in page["/Resources"]["/Font"].values()}
    assert fonts
    assert all("DejaVuSansCondensed" in font for font in fonts), fonts


def test_the_package_prints_every_task_caution_hold_point_gate_and_count():
    words = squeezed(text_of(printed("work package")))
    for task in PACKAGE.tasks:
        assert squeezed(task.title) in words, task.id
        for line in (*task.steps, *task.cautions, *((task.hold_point,) if task.hold_point else ())):
            assert squeezed(line) in words, (task.id, line)
    for gate in PACKAGE.gates:
        assert squeezed(gate.title)[1:] in words
    for item in (*PACKAGE.parts, *PACKAGE.consumables, *PACKAGE.tools, *PACKAGE.remarks):
        assert squeezed(item) in words
    for count in PACKAGE.counts:
        assert squeezed(count.what) in words
    for suspect in PACKAGE.scope.suspects:
        assert squeezed(suspect.label)[1:] in words
        assert squeezed(suspect.reason)[1:] in words
    for question in PACKAGE.scope.questions:
        assert squeezed(question) in words
    for look in PACKAGE.follow_ups:
        assert squeezed(look.what) in words
    assert squeezed("attitude indicator leaned 6 deg right") in words
    assert "aplan,notanapproval" in words.lower()


def test_the_hose_map_prints_every_line_with_both_ends():
    words = squeezed(text_of(printed("hose map")))
    for tag in PACKAGE.hose_tags:
        for end in tag.ends:
            assert squeezed(end.replace(".", ", ").replace("_", " ")) in words
    assert "handtight" in words.replace("-", "")


def test_the_card_prints_bands_limits_and_the_earth_s_share():
    words = text_of(printed("ground-run card"))
    for piece in ("1.2 to 2.4", "3.5 to 4.6", "Above 5.2 inHg: STOP", "950 to 1200 rpm", "of which the earth -2.7"):
        assert piece in words
    assert len(PdfReader(io.BytesIO(printed("ground-run card"))).pages) == 1
    assert len(PdfReader(io.BytesIO(printed("ground-run card", "letter"))).pages) == 1
    assert "At any speed: hose off" in words
    metric = text_of(card(metric=True))
    assert "Above 176 hPa: STOP" in metric


def test_the_brief_says_what_is_normal_and_what_to_report():
    words = text_of(printed("pilot brief"))
    assert len(PdfReader(io.BytesIO(printed("pilot brief"))).pages) == 1
    assert "1070 rpm" in words
    assert "above 1220 rpm" in words
    # The mean of what was read up and down; the cruise point was not read, so the middle of its band stands in.
    assert "4.2 inHg" in words
    assert "5.0 inHg, predicted" in words
    assert "In cloud it is an emergency" in words
    assert "minute" not in words, "no coasting time beside emergency text"


def test_the_record_leaves_every_signature_line_empty_and_prints_the_whole_digest():
    words = text_of(printed("record"))
    for name in RECORD.missing:
        assert name in words
    assert squeezed("0123abcd" * 8) in squeezed(words)
    assert "This is a draft. A certificated person decides and signs." in words


@pytest.mark.parametrize("sheet", sorted(prints.SHEETS))
def test_tags_fit_their_sheet_and_say_the_same_twice(sheet):
    first = prints.tags_pdf(TAGS, dated=TODAY, sheet=sheet)
    assert first == prints.tags_pdf(TAGS, dated=TODAY, sheet=sheet)
    geometry = prints.SHEETS[sheet]
    reader = PdfReader(io.BytesIO(first))
    assert len(reader.pages) == -(-len(TAGS) // (geometry.columns * geometry.rows))
    assert geometry.left + (geometry.columns - 1) * geometry.pitch_x + geometry.width <= geometry.page_width + 0.01
    assert geometry.top + (geometry.rows - 1) * geometry.pitch_y + geometry.height <= geometry.page_height + 1.0
    words = squeezed(text_of(first))
    assert "removed2025-02-22" in words
    assert "2,983.9h" in words


@pytest.mark.parametrize("sheet", sorted(prints.SHEETS))
def test_every_qr_code_reads_back_from_the_printed_sheet(sheet, monkeypatch):
    pictures = printed_pictures(monkeypatch, lambda: prints.tags_pdf(TAGS, dated=TODAY, sheet=sheet))
    read = {code.text for picture in pictures for code in zxingcpp.read_barcodes(picture)}
    assert {tag.qr for tag in TAGS} <= read


def test_the_package_s_qr_code_names_the_whole_package(monkeypatch):
    pictures = printed_pictures(monkeypatch, lambda: prints.work_package_pdf(PACKAGE))
    codes = [code.text for code in zxingcpp.read_barcodes(pictures[0])]
    assert any(PACKAGE.id in code for code in codes)


def printed_pictures(monkeypatch, make_pdf):
    """The same template and data as pictures, at the 203 dots an inch of a common label printer."""
    import typst

    taken = {}
    compile_pdf = typst.compile

    def keep(*args, **keywords):
        taken["args"], taken["keywords"] = args, keywords
        return compile_pdf(*args, **keywords)

    monkeypatch.setattr(typst, "compile", keep)
    make_pdf()
    monkeypatch.undo()
    keywords = {name: value for name, value in taken["keywords"].items() if name != "timestamp"}
    pages = compile_pdf(*taken["args"], **keywords, format="png", ppi=203.0)
    return [Image.open(io.BytesIO(page)) for page in (pages if isinstance(pages, list) else [pages])]


def test_text_from_people_stays_text():
    package = package_of(NASTY)
    assert squeezed(NASTY) in squeezed(text_of(prints.work_package_pdf(package)))
    record = msgspec.structs.replace(RECORD, aircraft=NASTY)
    assert squeezed(NASTY) in squeezed(text_of(prints.record_pdf(record)))
    tags = (filter_tag(NASTY, "#filter *x*", Hours(), TODAY, by="#by"),)
    assert squeezed("#filter *x*") in squeezed(text_of(prints.tags_pdf(tags, dated=TODAY)))


def test_no_signature_stands_on_a_page_of_its_own():
    meaning = "A signature is for the work above it."
    for lines in range(4, 140, 5):
        text = "Done\n" + "\n".join(f"Line {n} of the work." for n in range(lines)) + "\n\nTo look at again\nThe lines."
        field = msgspec.structs.replace(RECORD.fields[0], text=text)
        record = msgspec.structs.replace(RECORD, fields=(field,), beside_signature=(meaning,))
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(prints.record_pdf(record))).pages]
        signed = [page for page in pages if squeezed("To be given by hand") in squeezed(page)]
        assert len(signed) == 1
        assert squeezed("To look at again") in squeezed(signed[0])
        assert squeezed(meaning) in squeezed(signed[0])


def test_a_drawing_is_set_into_the_package():
    drawing = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 60"><rect width="200" height="60" fill="none" '
        'stroke="black"/><circle cx="100" cy="30" r="20" fill="none" stroke="black"/></svg>'
    )
    plain, drawn = printed("work package"), prints.work_package_pdf(PACKAGE, schematic_svg=drawing)
    assert plain != drawn
    assert "The air system" in text_of(drawn)
    assert "The air system" not in text_of(plain)


def test_a_package_that_follows_another_prints_what_changed():
    description = msgspec.structs.replace(make("suction-one-pump"), name="Club four-seater")
    ends = tuple(
        FrontFinding(line=f"{gyro}_outlet_hose", clean_from_m=0.3, proof="cloth") for gyro in ("attitude", "heading")
    )
    scope = trace(description, None, SheddingEvent(part="pump", kind="stop", altitude_m=1371.6), findings=ends)
    newer = plan(description, "debris_left_in_lines", scope, today=TODAY, place="pump", parent=PACKAGE.id)
    words = text_of(prints.work_package_pdf(newer, previous=PACKAGE))
    assert f"since package {PACKAGE.id[:12]}" in words
    assert squeezed("off the list: ") in squeezed(words)
    assert "attitude indicator" in words
    assert "What changed" not in text_of(printed("work package"))


def test_unknown_paper_sheet_and_no_tags_are_refused():
    with pytest.raises(InputError, match="a4 or letter"):
        prints.work_package_pdf(PACKAGE, page="legal")
    with pytest.raises(InputError, match="label sheet"):
        prints.tags_pdf(TAGS, dated=TODAY, sheet="a4-1000")
    with pytest.raises(InputError, match="at least one tag"):
        prints.tags_pdf((), dated=TODAY)


def test_fonts_come_with_their_licence():
    fonts = Path(str(resources.files("vanewise.prints"))) / "fonts"
    assert any(path.name.startswith("LICENSE") for path in fonts.iterdir())
    assert all(path.suffix == ".ttf" or path.name.startswith("LICENSE") for path in fonts.iterdir())
    assert press.PAPERS["letter"] == "us-letter"
