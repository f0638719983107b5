"""How values are printed, and what a sentence does that lacks one."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from startworthy.findings import Clear, Finding, NotAssessed, Question, Reason, Severity
from startworthy.words import Style, check_text, clear_text, finding_text, reason_text, texts, unit_ending

SI, US = Style(), Style("us")
NOON = datetime(2025, 7, 1, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("name", "value", "si", "us"),
    [
        ("rest_v", 12.4, "12.4 V", "12.4 V"), ("rest_v", 12.345, "12.35 V", "12.35 V"), ("mean_v", 229.96, "230.0 V", "230.0 V"),
        ("mean_v", 230.0, "230 V", "230 V"), ("peak_c", 100.0, "100 °C", "212 °F"), ("peak_c", -40.0, "-40 °C", "-40 °F"),
        ("least_kpa", 103.421, "103 kPa", "15 psi"), ("litres_l", 3.785411784, "3.8 L", "1.0 US gal"), ("level_fraction", 0.25, "25 %", "25 %"),
        ("again_share", 0.071, "7.1 %", "7.1 %"), ("mean_hz", 51.5, "51.5 Hz", "51.5 Hz"), ("crank_s", 4.5, "4.5 s", "4.5 s"),
        ("crank_s", 45.0, "45 s", "45 s"), ("ran_s", 1200.0, "20 min", "20 min"), ("out_h", 25.0, "25.0 h", "25.0 h"),
        ("out_h", 24.0 * 12, "12 days", "12 days"), ("low_days", 1, "1 day", "1 day"), ("low_days", 3, "3 days", "3 days"),
        ("every_days", 7.0, "7 days", "7 days"), ("starts", 26, "26", "26"), ("most", 2.5, "2.5", "2.5"), ("flat", True, "yes", "yes"),
        ("flat", None, "not known", "not known"), ("mode", "off", "off", "off"), ("week_fraction", -0.00001, "0.0 %", "0.0 %"),
    ],
)  # fmt: skip
def test_the_ending_of_a_name_gives_the_unit(name, value, si, us):
    assert SI.value(name, value) == si
    assert US.value(name, value) == us


def test_instants_are_told_in_the_reader_s_zone():
    vienna = Style(zone="Europe/Vienna")
    assert vienna.value("last_at", NOON) == "2025-07-01 14:00"
    assert vienna.value("since_date", datetime(2025, 6, 30, 22, 0, tzinfo=UTC)) == "2025-07-01"


def test_units_of_limits_have_their_ending():
    assert [unit_ending(u) for u in ("Cel", "1", "V", "kPa", "")] == ["c", "fraction", "v", "kpa", ""]


def finding(**evidence):
    return Finding(
        "fuel.low", Severity.SOON, Question.KEEP_RUNNING, NOON, NOON, value=0.2, unit="1", limit=0.25, variant="low", evidence=evidence
    )  # fmt: skip


def test_a_finding_s_own_figures_fill_its_sentences():
    text = finding_text(finding(level_fraction=0.2, last_date=NOON, stop_fraction=0.1), SI)
    assert text.title == "Fuel is low"
    assert "20 % of the tank, last seen on 2025-07-01 (limit 25 %; it stops by itself at about 10 %)" in text.detail
    assert text.cautions == (texts("general")["cautions"]["fuel"],)


def test_a_place_without_a_value_is_a_fault_in_words():
    with pytest.raises(KeyError, match="level_fraction"):
        finding_text(finding(), SI)


def test_braces_in_a_log_s_text_are_only_text():
    assert Style().fill("in {mode}", {"mode": "{other} {0}"}) == "in {other} {0}"


def test_the_check_s_own_reason_goes_before_the_general_one():
    own = NotAssessed("battery.charger_lost", Reason.NOTHING_SEEN, {"why": "no_charger"})
    assert reason_text(own, SI) == "The register says that this set has no battery charger."
    general = NotAssessed("battery.charger_lost", Reason.SIGNAL_MISSING, {"signals": "battery voltage"})
    assert reason_text(general, SI) == "The log has no battery voltage."


def test_clear_without_evidence_says_only_that_it_looked():
    assert clear_text(Clear("fuel.low"), SI) == texts("general")["clear"]
    assert "75 %" in clear_text(Clear("fuel.low", {"level_fraction": 0.75, "last_date": NOON}), SI)


def test_an_unknown_code_has_no_text():
    with pytest.raises(KeyError):
        check_text("fuel.nothing")
    with pytest.raises(FileNotFoundError):
        check_text("nothing.low")
