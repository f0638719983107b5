"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Question, Reason
from tests.support.books import at, book, day, mark, run
from tests.support.cases import cannot, raises, silent


def log(*marks, days=None, **more):
    return book(days=days or [day(n) for n in range(30)], marks=marks, **more)


def change(days, text, hours=0.0):
    return mark("mode_change", at(days, hours), signal="mode", text=text)


OUT = {"automatic_s": 0.0, "off_s": 86400.0}

CASES = [
    raises("care.not_in_auto", "off since a week, to the end", log(change(23, "automatic>off")), "urgent", "now", Question.START),
    raises("care.not_in_auto", "off, then manual, to the end", log(change(27, "automatic>off"), change(28, "off>manual")), "urgent", "now", Question.START),
    raises("care.not_in_auto", "off for two hours at the end", log(change(29, "automatic>off", 22)), "note", "just_now", Question.CARE),
    raises("care.not_in_auto", "two weeks, since ended", log(change(3, "automatic>off"), change(17, "off>automatic")), "soon", "ended", Question.CARE),
    raises("care.not_in_auto", "two days, since ended", log(change(3, "automatic>manual"), change(5, "manual>automatic")), "note", "ended", Question.CARE),
    raises("care.not_in_auto", "off from the first row on", log(change(4, "off>automatic")), "soon", "ended"),
    raises("care.not_in_auto", "off all along: no change to be seen", book(days=[day(n, **OUT) for n in range(10)]), "urgent", "now", Question.START),
    raises("care.not_in_auto", "told by the days alone", book(days=[day(n, **(OUT if 3 <= n <= 8 else {})) for n in range(20)]), "soon", "ended"),
    raises("care.not_in_auto", "only ever started by hand", book(
        days=[day(n, automatic_s=0.0, manual_s=86400.0) for n in range(30)], runs=[run(n, cause="manual", mode="manual") for n in (2, 9, 16, 23)]), "note", "by_hand", Question.CARE),
    raises("care.not_in_auto", "off but for its runs by hand", log(
        change(2, "off>manual", 7), change(2, "manual>off", 10), change(12, "off>manual", 7), change(12, "manual>off", 10),
        days=[day(n, **OUT) for n in range(30)], runs=[run(n, mode="manual") for n in (2, 12, 22)]), "note", "by_hand"),
    raises("care.not_in_auto", "off all along, tried by hand once", book(
        days=[day(n, **OUT) for n in range(30)], runs=[run(12, mode="manual")]), "urgent", "now", Question.START),
    raises("care.not_in_auto", "by hand since weeks, but once it started in automatic", log(
        change(3, "automatic>manual"), runs=[run(n, mode="automatic" if n == 2 else "manual") for n in (2, 9, 16, 23)]), "urgent", "now"),
    silent("care.not_in_auto", "automatic all along", log()),
    silent("care.not_in_auto", "a technician's hour in manual", log(change(3, "automatic>manual", 9), change(3, "manual>automatic", 10))),
    silent("care.not_in_auto", "exactly a day", log(change(3, "automatic>off"), change(4, "off>automatic"))),
    silent("care.not_in_auto", "exactly an hour at the end", log(change(29, "automatic>off", 23))),
    silent("care.not_in_auto", "in test", log(change(3, "automatic>test"), change(20, "test>automatic"))),
    silent("care.not_in_auto", "in manual, but running by hand through it", log(
        change(3, "automatic>manual"), change(6, "manual>automatic"), runs=[run(3, began_at=at(3, 1), ended_at=at(5, 23), cause="manual")])),
    silent("care.not_in_auto", "off before a gap, automatic after it", log(
        change(3, "automatic>off", 20), change(10, "off>automatic"), mark("gap", at(3, 22), at(10), value=6 * 86400.0))),
    silent("care.not_in_auto", "a word that is not known ends the spell", log(change(3, "automatic>off", 10), change(3, "off>service", 20), change(9, "service>automatic"))),
    cannot("care.not_in_auto", "mode not logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    cannot("care.not_in_auto", "no word for a mode is known", book(days=[day(n, automatic_s=None, manual_s=None, off_s=None, test_s=None) for n in range(9)]), Reason.NOTHING_SEEN),
    cannot("care.not_in_auto", "three hours of log", book(days=[day(0, automatic_s=10800.0)], span=(at(0), at(0, 3))), Reason.TOO_SHORT),
]  # fmt: skip
