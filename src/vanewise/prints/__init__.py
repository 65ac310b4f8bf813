"""Pages for the hangar: work package, hose map, ground-run card, record draft, tags. Readable in black and white."""

from vanewise.prints.brief import pilot_brief_pdf
from vanewise.prints.cards import card_pdf
from vanewise.prints.ground_run import ground_run_card_pdf
from vanewise.prints.history import history_pdf
from vanewise.prints.meanwhile import loss_report_pdf, meanwhile_pdf
from vanewise.prints.packets import count_sheet_pdf, packet_pdf, shop_note_pdf
from vanewise.prints.record import record_pdf
from vanewise.prints.tags import SHEETS, TagSheet, tags_pdf
from vanewise.prints.work_package import hose_map_pdf, work_package_pdf

__all__ = [
    "SHEETS",
    "TagSheet",
    "card_pdf",
    "count_sheet_pdf",
    "ground_run_card_pdf",
    "history_pdf",
    "hose_map_pdf",
    "loss_report_pdf",
    "meanwhile_pdf",
    "packet_pdf",
    "pilot_brief_pdf",
    "record_pdf",
    "shop_note_pdf",
    "tags_pdf",
    "work_package_pdf",
]
