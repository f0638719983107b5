"""Alarm texts of five languages. Trade words; common practice, no source."""

from __future__ import annotations

import polars as pl
import pytest

from startworthy.logbook.alarmwords import ENDS, FAILED_START, NOT_AN_END


def says(text: str, pattern: str) -> bool:
    return bool(pl.Series([text]).str.to_lowercase().str.contains(pattern)[0])


@pytest.mark.parametrize(
    "text",
    [
        "Failed to start", "Overcrank", "Start failure", "Fehlstart", "Startfehler", "Start fehlgeschlagen", "Kein Start",
        "Échec de démarrage", "Echec demarrage", "Défaut de démarrage", "Démarrage impossible", "Fallo de arranque",
        "Arranque fallido", "No arranca", "Falha de partida", "Falha no arranque", "Não arrancou",
    ],
)  # fmt: skip
def test_a_start_that_failed(text: str) -> None:
    assert says(text, FAILED_START)


@pytest.mark.parametrize(
    "text",
    [
        "Started", "Start enabled", "Anlasser dreht", "Start freigegeben", "Démarrage", "En marche", "Arranque",
        "Partida", "Motor arrancado", "Öldruck niedrig", "Pression d'huile basse", "Netzausfall",
    ],
)  # fmt: skip
def test_what_says_nothing_of_a_failed_start(text: str) -> None:
    assert not says(text, FAILED_START)


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("Low oil pressure shutdown", "oil"), ("Öldruck zu niedrig", "oil"), ("Pression d'huile basse", "oil"),
        ("Presión de aceite baja", "oil"), ("Pressão de óleo baixa", "oil"), ("Kühlmitteltemperatur hoch", "coolant"),
        ("Température d'eau haute", "coolant"), ("Sobretemperatura del motor", "coolant"),
        ("Superaquecimento", "coolant"), ("Überdrehzahl", "overspeed"), ("Survitesse", "overspeed"),
        ("Sobrevelocidade", "overspeed"), ("Überlast", "overload"), ("Surcharge", "overload"),
        ("Sobrecarga", "overload"), ("Kraftstoffmangel", "fuel"), ("Niveau de carburant bas", "fuel"),
        ("Nivel de gasóleo bajo", "fuel"), ("Falta de combustível", "fuel"), ("Not-Aus", "shutdown"),
        ("Arrêt d'urgence", "shutdown"), ("Parada de emergencia", "shutdown"),
    ],
)  # fmt: skip
def test_how_a_run_ended(text: str, end: str) -> None:
    assert next(name for name, words in ENDS if says(text, words)) == end
    assert not says(text, NOT_AN_END)


@pytest.mark.parametrize(
    "text",
    [
        "Low battery voltage", "Batteriespannung niedrig", "Batterie basse", "Batería baja", "Bateria fraca",
        "Ladegerät ausgefallen", "Netzausfall", "Défaut secteur", "Fallo de red", "Falha da rede", "Wartung fällig",
        "Entretien", "Mantenimiento", "Manutenção", "Warnung Kühlmitteltemperatur", "Aviso: combustible bajo",
    ],
)  # fmt: skip
def test_what_ends_no_run(text: str) -> None:
    assert says(text, NOT_AN_END)
