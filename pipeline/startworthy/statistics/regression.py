"""Straight-line dependence on several drivers at once: by least squares, and robustly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import polars as pl

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Weights = Literal["bisquare", "huber"]

INTERCEPT = "intercept"
HUBER = 1.345
BISQUARE = 4.685
"""Tuning: 95 % as sharp as least squares where the scatter is normal (Huber 1964; Beaton and Tukey 1974)."""
NORMAL_QUARTILE = 0.6744897501960817
MEAN_DEVIATION_TO_SIGMA = 1.2533141373155
ROUNDS = 200


@dataclass(frozen=True, slots=True)
class Coefficient:
    """What y changes by for one unit of a driver, the others held. p: two-sided, Student's t, that it is 0."""

    name: str
    estimate: float
    standard_error: float
    low: float
    high: float
    p: float


@dataclass(frozen=True, slots=True, eq=False)
class Regression:
    """y = intercept + sum of coefficient x driver. Empty and null where it cannot be fitted: then `why` says so.

    coefficients: the intercept first, then the drivers used, in order. left_out: drivers that do not move, or only with
    earlier ones. residuals, weights: as many as rows were given, null where a row had a null. scale: standard deviation
    of the residuals (robust: 1.4826 times the median absolute one). r_squared: least squares only. n: rows used.
    """

    coefficients: tuple[Coefficient, ...]
    left_out: tuple[str, ...]
    residuals: pl.Series | None
    weights: pl.Series | None
    scale: float | None
    r_squared: float | None
    confidence: float
    n: int
    method: str
    why: str = ""

    def of(self, name: str) -> Coefficient | None:
        """The coefficient of a driver (or "intercept"); None where it was left out."""
        return next((c for c in self.coefficients if c.name == name), None)


@dataclass(frozen=True, slots=True, eq=False)
class Corrected:
    """Values as they would have been with every driver at its median, in their own unit; fit says by which figures.

    As many as were given, null where a row had a null. Null altogether where nothing could be fitted: see `fit.why`.
    """

    values: pl.Series | None
    fit: Regression


def least_squares(y: pl.Series, drivers: pl.DataFrame, confidence: float) -> Regression:
    """Ordinary least squares with an intercept; intervals by Student's t.

    y: n values; drivers: n rows, a column each, no more than numbers; rows with a null are left out. confidence: a
    fraction. Two more rows than drivers at least. Raises ValueError for lengths that differ.
    """
    return _fit(y, drivers, confidence, None)


def robust(y: pl.Series, drivers: pl.DataFrame, confidence: float, weights: Weights = "bisquare") -> Regression:
    """Robust multiple regression by reweighted least squares: outliers in y count little (huber) or nothing (bisquare).

    Huber's weights (1.345) from least squares on; for Tukey's bisquare (4.685) these are the start, as its own
    equations have more than one solution. The scale is the median absolute residual over 0.6745, renewed each round;
    where most residuals are 0 (a coarse sender) 1.2533 times their mean. Standard errors: Huber (1981, 7.6), with his
    small-sample factor. It bears wild y, not wild drivers. Arguments and what is refused: as `least_squares`.
    """
    return _fit(y, drivers, confidence, weights)


def without_drivers(y: pl.Series, drivers: pl.DataFrame, confidence: float) -> Corrected:
    """Take the part of the drivers out of y, by a robust fit: for charts and control charts.

    A trend in time belongs in the fit itself (`driven_trend` of statistics.driven), or a driver that drifts takes it
    away. Arguments and what is refused: as `least_squares`.
    """
    fit = robust(y, drivers, confidence)
    if fit.residuals is None:
        return Corrected(None, fit)
    known = drivers.filter(fit.residuals.is_not_null())
    level = sum(c.estimate * (1.0 if c.name == INTERCEPT else _median(known[c.name])) for c in fit.coefficients)
    return Corrected(fit.residuals + level, fit)


def _fit(y: pl.Series, drivers: pl.DataFrame, confidence: float, weights: Weights | None) -> Regression:
    if drivers.width and drivers.height != y.len():
        raise ValueError("y and the drivers must have as many rows each")
    import numpy as np

    method = "least squares" if weights is None else f"robust regression, {weights}"
    rows = pl.DataFrame({"": y.cast(pl.Float64)}).hstack(drivers.cast(pl.Float64))
    known = rows.select(pl.all_horizontal(pl.all().is_not_null())).to_series()
    used = rows.filter(known)
    n = used.height
    names, left_out = _independent(used.drop(""))
    if n < len(names) + 2:
        return Regression((), left_out, None, None, None, None, confidence, n, method, "too few values")
    target = used[""].to_numpy()
    columns = used.select(names).to_numpy().reshape(n, len(names))
    centres, widths = columns.mean(axis=0), columns.std(axis=0)
    # in standard deviations about the mean, or drivers of unlike size would cost digits
    design = np.column_stack([np.ones(n), (columns - centres) / widths])
    beta, *_ = np.linalg.lstsq(design, target, rcond=None)
    residuals = target - design @ beta
    weight = np.ones(n)
    if weights is not None:
        beta, weight, residuals, scale, scaled_by = _reweighted(design, target, beta, weights)
        method += scaled_by
        variance = _robust_variance(residuals, scale, n - len(names) - 1, weights)
        if variance is None:
            return Regression((), left_out, None, None, None, None, confidence, n, method, "no steady fit")
    else:
        variance = float(residuals @ residuals) / (n - len(names) - 1)
        scale = variance**0.5
    back = np.diag(np.append(1.0, 1.0 / widths))
    back[0, 1:] = -centres / widths
    covariance = back @ np.linalg.inv(design.T @ design) @ back.T * variance
    total = float(((target - target.mean()) ** 2).sum())
    r_squared = 1.0 - float(residuals @ residuals) / total if weights is None and total > 0.0 else None
    return Regression(
        _coefficients((INTERCEPT, *names), back @ beta, covariance, n - len(names) - 1, confidence),
        left_out,
        _in_rows(residuals, known),
        _in_rows(weight, known),
        scale,
        r_squared,
        confidence,
        n,
        method,
    )


def _independent(drivers: pl.DataFrame) -> tuple[list[str], tuple[str, ...]]:
    """Drivers that move, and not only as those before them do."""
    import numpy as np

    kept, left_out, basis = [], [], np.zeros((drivers.height, 0))
    for name in drivers.columns:
        centred = drivers[name].to_numpy() - (drivers[name].mean() if drivers.height else 0.0)
        size = float(np.linalg.norm(centred))
        own = centred - basis @ (basis.T @ centred)
        biggest = float(np.abs(drivers[name].to_numpy()).max(initial=0.0)) * drivers.height**0.5
        if size <= 1e-12 * biggest or float(np.linalg.norm(own)) <= 1e-7 * size:
            left_out.append(name)
            continue
        kept.append(name)
        basis = np.column_stack([basis, own / np.linalg.norm(own)])
    return kept, tuple(left_out)


def _reweighted(
    design: NDArray[np.float64], target: NDArray[np.float64], beta: NDArray[np.float64], weights: Weights
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float, str]:
    """Coefficients, weights, residuals, scale, and how the scale was found where it was not the usual way."""
    import numpy as np

    weight = np.ones(len(target))
    residuals: NDArray[np.float64] = target - design @ beta
    # below it residuals are rounding; and a line through most values is not improved by the rest
    tiny = max(1e-12 * float(np.abs(target).max()), 1e-9 * float(np.abs(residuals).mean()))
    for kind in ("huber",) if weights == "huber" else ("huber", "bisquare"):
        for _ in range(ROUNDS):
            scale = float(np.median(np.abs(residuals))) / NORMAL_QUARTILE
            if scale <= tiny:
                break
            weight = _weight(residuals / scale, kind)
            root = np.sqrt(weight)
            solved = np.linalg.lstsq(design * root[:, None], target * root, rcond=None)[0]
            renewed = solved.astype(np.float64)
            moved = float(np.abs(design @ (renewed - beta)).max())
            beta, residuals = renewed, target - design @ renewed
            if moved <= 1e-10 * scale:
                break
    away = np.abs(residuals)
    scale, how = float(np.median(away)) / NORMAL_QUARTILE, ""
    if scale <= tiny:
        scale, how = MEAN_DEVIATION_TO_SIGMA * float(away.mean()), ", scale by mean deviation"
    return beta, weight, residuals, 0.0 if scale <= tiny else scale, how


def _weight(scaled: NDArray[np.float64], kind: str) -> NDArray[np.float64]:
    import numpy as np

    away = np.abs(scaled)
    if kind == "huber":
        return HUBER / np.maximum(away, HUBER)
    inside = np.minimum(away / BISQUARE, 1.0)
    return (1.0 - inside**2) ** 2


def _robust_variance(residuals: NDArray[np.float64], scale: float, degrees: int, kind: Weights) -> float | None:
    """What stands in for the variance of the residuals in a coefficient's standard error (Huber 1981, 7.6.14)."""
    import numpy as np

    if scale == 0.0:
        return 0.0
    n, scaled = len(residuals), residuals / scale
    influence = scaled * _weight(scaled, kind)
    if kind == "huber":
        slope = (np.abs(scaled) <= HUBER).astype(float)
    else:
        ratio = (scaled / BISQUARE) ** 2
        slope = np.where(ratio < 1.0, (1.0 - ratio) * (1.0 - 5.0 * ratio), 0.0)
    mean = float(slope.mean())
    if mean <= 0.0:  # more values in the far flanks of the weights than in the middle
        return None
    factor = 1.0 + (n - degrees) / n * float(slope.var()) / mean**2
    return factor**2 * float((influence**2).sum()) / degrees * scale**2 / mean**2


def _coefficients(
    names: tuple[str, ...],
    estimates: NDArray[np.float64],
    covariance: NDArray[np.float64],
    degrees: int,
    confidence: float,
) -> tuple[Coefficient, ...]:
    import numpy as np
    from scipy.special import stdtr, stdtrit

    errors = np.sqrt(np.diag(covariance))
    half = float(stdtrit(degrees, (1.0 + confidence) / 2.0)) * errors
    with np.errstate(divide="ignore", invalid="ignore"):
        p = np.where(
            errors > 0.0, 2.0 * stdtr(degrees, -np.abs(estimates / errors)), np.where(estimates == 0.0, 1.0, 0.0)
        )
    figures = zip(estimates, errors, estimates - half, estimates + half, p, strict=True)
    return tuple(Coefficient(name, *map(float, each)) for name, each in zip(names, figures, strict=True))


def _in_rows(figures: NDArray[np.float64], known: pl.Series) -> pl.Series:
    """Figures of the rows that were used, at their rows; null at the others."""
    import numpy as np

    spread = np.full(known.len(), np.nan)
    spread[known.to_numpy()] = figures
    return pl.Series(spread).fill_nan(None)


def _median(values: pl.Series) -> float:
    return float(values.cast(pl.Float64).median())  # type: ignore[arg-type]
