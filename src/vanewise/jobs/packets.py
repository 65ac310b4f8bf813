"""What goes with a photograph, a core or an instrument, collected from what was recorded, for printing."""

from __future__ import annotations

from vanewise.aircraft.description import AircraftDescription, digest
from vanewise.jobs.casebook import Book
from vanewise.jobs.work import Job
from vanewise.prints.packets import Picture, Section, picture
from vanewise.quantities import centihours_text
from vanewise.store import files
from vanewise.wording import capital
from vanewise.work.hose_map import port_words
from vanewise.work.photos import FILTER_CUT, OLD_CORE, PIECES
from vanewise.work.types import Mark, Photo

EVIDENCE = (PIECES, OLD_CORE, FILTER_CUT)
MOMENTS = {"before": "before anything was loosened", "after": "after it went together", "found": "as found"}
ROLES = {"centre": "middle of the port", "twelve": "12 o'clock", "tip": "where it points"}


def pictures(book: Book, found: Job, about: tuple[str, ...] = ()) -> tuple[Picture, ...]:
    """The photographs of a job for paper, those of ``about`` alone when given; before stands beside after."""
    chosen = [photo for photo in found.log.photos if not about or photo.about in about]
    chosen.sort(key=lambda photo: (photo.about, photo.moment == "after", photo.taken_at))
    return tuple(_picture(book, found, photo) for photo in chosen)


def _picture(book: Book, found: Job, photo: Photo) -> Picture:
    marks = [mark for mark in found.log.marks if mark.photo == photo.id]
    names = [f"{number}: {_mark_words(book.description, mark)}" for number, mark in enumerate(marks, start=1)]
    body, _ = files.read(photo.shown)
    words = [f"{photo.taken_by}, {photo.taken_at[:10]}; original {photo.original[:12]}", *names]
    if photo.note:
        words.insert(0, photo.note)
    title = f"{_subject(book.description, photo.about)}, {MOMENTS[photo.moment]}"
    return picture(body, photo, marks, title=capital(title), words=words)


def _subject(description: AircraftDescription, about: str) -> str:
    labels = description.labels()
    if about in labels:
        return labels[about]
    part, _, port = about.rpartition(".")
    known = part in {item.id for item in description.parts}
    return port_words(description, about) if known and port else about.replace("_", " ")


def _mark_words(description: AircraftDescription, mark: Mark) -> str:
    if mark.role in ROLES:
        return ROLES[mark.role]
    line, _, port = mark.about.partition("|")
    if not port:
        return _subject(description, line)
    return f"{_subject(description, line)} at {port_words(description, port)}"


def warranty(book: Book, found: Job) -> tuple[Section, ...]:
    """What a maker asks for when a pump comes back: the part, its life, what was found, how the lines were cleaned."""
    package, log = found.package, found.log
    report_id = str(found.entry.content.get("report", ""))
    report = next((report for report in book.reports if report.id == report_id), None)
    looks = {look.id: look for look in package.looks}
    answers = tuple(
        (ask.words, _answer(log.looks.get(name, {}), ask.id))
        for name in ("pieces", "old filter")
        if name in looks
        for ask in looks[name].asks
        if ask.kind != "photo"
    )
    return (
        Section(title="The part that came off", rows=_came_off(book, found)),
        Section(
            title="What was reported",
            rows=(
                ("Report", str(report.entry.content.get("words", "")) if report else "none"),
                ("Cause planned for", package.cause_name),
            ),
        ),
        Section(title="Found", rows=tuple((f"{number}", words) for number, words in enumerate(log.findings, start=1))),
        Section(title="Pieces and filter", rows=tuple(row for row in answers if row[1])),
        Section(
            title="Lines and parts cleaned or replaced before the next pump",
            rows=tuple(
                (
                    _subject(book.description, closure.suspect),
                    f"{closure.how}: {closure.method}; proof: {closure.proof}; {closure.by}"
                    + (f", {closure.when}" if closure.when else ""),
                )
                for closure in log.closures
            ),
        ),
        Section(title="The part that went on", rows=_went_on(book, found)),
        Section(
            title="Proof of these pages",
            rows=(
                ("Journal head", book.head),
                ("Work package", package.id),
                ("Description", package.description_digest),
            ),
        ),
    )


def _answer(told: object, ask: str) -> str:
    answers = dict(told) if isinstance(told, dict) else {}
    why = answers.get(f"{ask} why", "")
    return f"{answers.get(ask, '')}{f': {why}' if why else ''}"


def _came_off(book: Book, found: Job) -> tuple[tuple[str, str], ...]:
    """The pump as it was described when the work was planned."""
    wanted = found.package.description_digest
    before = next((one.description for one in book.versions if digest(one.description) == wanted), book.description)
    pump = next((part for part in before.parts_of("pump") if part.id == found.package.place), None)
    pump = pump or before.parts_of("pump")[0]
    fitted = pump.fitted
    rows = [("Part", pump.label), ("Serial", fitted.serial or "not recorded"), ("Came as", fitted.condition)]
    rows.append(("Fitted on", str(fitted.date or "not recorded")))
    if fitted.tach_centihours is not None:
        rows.append(("Tach when fitted", f"{centihours_text(fitted.tach_centihours)} h"))
    now = before.meters.tach_centihours
    if fitted.tach_centihours is not None and now is not None:
        rows.append(
            ("Hours in service", f"{centihours_text(now - fitted.tach_centihours)} h, at the last meter reading")
        )
    return tuple(rows)


def _went_on(book: Book, found: Job) -> tuple[tuple[str, str], ...]:
    return tuple(
        (
            _subject(book.description, document.part),
            f"serial {document.serial_on_part}, {document.status}, document {document.reference}"
            + (f", dated {document.dated}" if document.dated else ""),
        )
        for document in found.log.documents.values()
    )
