"""What a card says beside the others: equipment of its own, a title for a phone, cautions of the bundle. The cards are invented."""

from __future__ import annotations

from pathlib import Path

from scheduler.rules.load import check

CARD = """\
ruleset: mine
version: 1
tasks:
  set the comb:
    title: {title}
    how: Lids on
    for: cut comb
    why: Invented.
    occupies: {{{kind}: 2}}
"""


def advice(tmp_path: Path, title: str = "Set the comb", kind: str = "freezer") -> list[str]:
    """What is advised of a card, and nothing is refused."""
    (tmp_path / "mine.yaml").write_text(CARD.format(title=title, kind=kind), encoding="utf-8")
    found = check(["mine.yaml"], beside=tmp_path)
    assert all(finding.advice for finding in found)
    return [finding.diagnostic.message.partition(": ")[2] for finding in found]


def test_equipment_that_no_other_card_occupies_is_told(tmp_path: Path) -> None:
    """It may be the keeper's own warm room, or a slip: where the yard has none there is always room."""
    assert advice(tmp_path, kind="warm room") == ['no other card occupies "warm room"; in a yard without one there is always room']
    assert advice(tmp_path, kind="settling tank") == []


def test_a_title_is_measured_as_it_reads_with_a_lot_in_it(tmp_path: Path) -> None:
    """38 characters are seen on a phone, and what stands in braces counts as it reads."""
    assert advice(tmp_path, title='"Set {lot.pieces} pieces of {lot.kind}"') == []
    assert advice(tmp_path, title='"Set {lot.pieces} pieces of {lot.kind} in the warm room"') == [
        '"Set 20 pieces of cut comb in the warm room" has 42 characters, and a phone shows 38'
    ]
