"""How sure a share or a rate is that stands on few events: exact and near-exact intervals."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Proportion:
    """A share of trials (0 to 1), with its interval. Null where there were no trials: then `why` says so."""

    share: float | None
    low: float | None
    high: float | None
    confidence: float
    n: int
    method: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Rate:
    """Events for each unit of exposure (hours, days), with its interval; n events. Null without exposure: see `why`."""

    per_unit: float | None
    low: float | None
    high: float | None
    confidence: float
    n: int
    method: str
    why: str = ""


def clopper_pearson(events: int, trials: int, confidence: float) -> Proportion:
    """Exact interval (Clopper and Pearson 1934, Biometrika 26): never covers less than it says, often more.

    events: 0 to trials. confidence: a fraction, two-sided. Raises ValueError for counts that cannot be.
    """
    _checked(events, trials, confidence)
    if not trials:
        return _no_trials(confidence, "clopper-pearson")
    from scipy.special import betaincinv

    tail = (1.0 - confidence) / 2.0
    low = float(betaincinv(events, trials - events + 1, tail)) if events else 0.0
    high = float(betaincinv(events + 1, trials - events, 1.0 - tail)) if events < trials else 1.0
    return Proportion(events / trials, low, high, confidence, trials, "clopper-pearson")


def wilson(events: int, trials: int, confidence: float) -> Proportion:
    """Score interval (Wilson 1927, J. Am. Stat. Assoc. 22), no continuity correction: covers about what it says.

    events: 0 to trials. confidence: a fraction, two-sided. Raises ValueError for counts that cannot be.
    """
    _checked(events, trials, confidence)
    if not trials:
        return _no_trials(confidence, "wilson")
    from scipy.special import ndtri

    z = float(ndtri((1.0 + confidence) / 2.0))
    share, weight = events / trials, z * z / trials
    centre = (share + weight / 2.0) / (1.0 + weight)
    half = z * (share * (1.0 - share) / trials + weight / (4.0 * trials)) ** 0.5 / (1.0 + weight)
    # rounding must not carry the ends over what a share can be
    low = max(0.0, centre - half) if events else 0.0
    high = min(1.0, centre + half) if events < trials else 1.0
    return Proportion(share, low, high, confidence, trials, "wilson")


def jeffreys(events: int, trials: int, confidence: float) -> Proportion:
    """Equal-tailed interval of Jeffreys' prior, beta(1/2, 1/2); its low end is 0 for no events, its high end 1 for all.

    The ends as Brown, Cai and DasGupta (2001, Statistical Science 16) set them.
    events: 0 to trials. confidence: a fraction, two-sided. Raises ValueError for counts that cannot be.
    """
    _checked(events, trials, confidence)
    if not trials:
        return _no_trials(confidence, "jeffreys")
    from scipy.special import betaincinv

    tail = (1.0 - confidence) / 2.0
    low = float(betaincinv(events + 0.5, trials - events + 0.5, tail)) if events else 0.0
    high = float(betaincinv(events + 0.5, trials - events + 0.5, 1.0 - tail)) if events < trials else 1.0
    return Proportion(events / trials, low, high, confidence, trials, "jeffreys")


def zero_failure_bound(trials: int, confidence: float) -> Proportion:
    """What share of failures may still hide behind trials that all went well: 1 - (1 - confidence)^(1 / trials).

    One-sided: the share is at most `high`, with this confidence (a two-sided interval ends further out).
    """
    _checked(0, trials, confidence)
    if not trials:
        return _no_trials(confidence, "zero failures, one-sided")
    return Proportion(
        0.0, 0.0, 1.0 - (1.0 - confidence) ** (1.0 / trials), confidence, trials, "zero failures, one-sided"
    )


def poisson_rate(events: int, exposure: float, confidence: float) -> Rate:
    """Events for each unit of exposure, with the exact interval of a Poisson count (Garwood 1936, Biometrika 28).

    exposure: in any unit, above 0; 0 gives no rate. Raises ValueError for counts that cannot be.
    """
    if events < 0 or exposure < 0.0:
        raise ValueError("events and exposure are 0 or more")
    if not 0.0 < confidence < 1.0:
        raise ValueError("confidence is a fraction between 0 and 1")
    if exposure == 0.0:
        return Rate(None, None, None, confidence, events, "poisson, exact", "nothing was watched")
    from scipy.special import gammaincinv

    tail = (1.0 - confidence) / 2.0
    low = float(gammaincinv(events, tail)) / exposure if events else 0.0
    high = float(gammaincinv(events + 1, 1.0 - tail)) / exposure
    return Rate(events / exposure, low, high, confidence, events, "poisson, exact")


def _checked(events: int, trials: int, confidence: float) -> None:
    if not 0 <= events <= trials:
        raise ValueError("events lie between 0 and the number of trials")
    if not 0.0 < confidence < 1.0:
        raise ValueError("confidence is a fraction between 0 and 1")


def _no_trials(confidence: float, method: str) -> Proportion:
    return Proportion(None, None, None, confidence, 0, method, "no trials")
