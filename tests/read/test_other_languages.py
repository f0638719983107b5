"""Headers, units and words in German, French, Spanish and Portuguese. Common practice, no source: words of the trade."""

from __future__ import annotations

from functools import cache
from itertools import combinations
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.read.headers import hear, unit_named
from startworthy.read.names import (
    aliases_of,
    column_words,
    languages,
    means_nothing,
    mode_named,
    signal_named,
    state_named,
    truth_named,
)
from startworthy.read.names.language import every, key_of, keys_of, plain
from startworthy.signals import BY_NAME, FALSE_WORDS, MODE_WORDS, SIGNALS, TRUE_WORDS, UNITS, Mode, Quantity
from tests.support.reader import read_file

HEADERS = {
    "German": """
        Batteriespannung [V]=battery_v V|Batt.-Spg. (V)=battery_v V|Starterbatterie=battery_v|Spannung Batterie V=battery_v V
        Öldruck [bar]=oil_kpa bar|Oeldr. bar=oil_kpa bar|Oldruck (kPa)=oil_kpa kPa|Öldruck in bar=oil_kpa bar|Motoröldruck=oil_kpa
        Kühlmitteltemperatur (°C)=coolant_c °C|Kuehlmitteltemp. °C=coolant_c °C|Kuhlmitteltemperatur=coolant_c
        KÃ¼hlwassertemp. [Â°C]=coolant_c °C|Motortemperatur=coolant_c|Öltemperatur=oil_c|Umgebungstemperatur=ambient_c
        Drehzahl U/min=speed_rpm U/min|Motordrehzahl (1/min)=speed_rpm 1/min|Drehzahl [min-1]=speed_rpm min-1
        Betriebsstunden=hour_meter_h h|Betr.-Std.=hour_meter_h std|Betriebsstunden [Std.]=hour_meter_h Std.
        Tankinhalt [%]=fuel_fraction %|Tankinhalt [L]=fuel_l L|Füllstand Tank %=fuel_fraction %|Kraftstoff (Liter)=fuel_l Liter
        Kraftstoffverbrauch (l/h)=fuel_flow_lph l/h|Generatorspannung L1-N [V]=voltage_l1_v V|Spannung L1-L2 (V)=voltage_l12_v V
        Strom L2 [A]=current_l2_a A|Außenleiterspannung L3-L1=voltage_l31_v|Frequenz [Hz]=frequency_hz Hz
        Generator Frequenz=frequency_hz|Last [%]=load_fraction %|Last [kW]=power_kw kW|Wirkleistung (kW)=power_kw kW
        Auslastung %=load_fraction %|Netz vorhanden=mains_present|Netz [V]=mains_v V|Netzspannung V=mains_v V
        Netzfrequenz=mains_hz|Betriebsart=mode|Betriebszustand=state|Störung=alarm|Stoerung=alarm|Anzahl Starts=starts_counter
        Lichtmaschine (V)=charge_alternator_v V|Ladestrom [A]=charger_a A|Generatorschalter=on_load""",
    "French": """
        Tension batterie [V]=battery_v V|Tension de la batterie=battery_v|U batterie (V)=battery_v V
        Pression d'huile (bar)=oil_kpa bar|pression huile=oil_kpa|Pression de l’huile moteur [kPa]=oil_kpa kPa
        Température du liquide de refroidissement (°C)=coolant_c °C|TEMPERATURE EAU=coolant_c|Temp. eau moteur °C=coolant_c °C
        Température ambiante=ambient_c|Régime moteur (tr/min)=speed_rpm tr/min|Vitesse moteur tr/min=speed_rpm tr/min
        Heures de marche=hour_meter_h h|Compteur horaire=hour_meter_h|Heures moteur (heures)=hour_meter_h heures
        Niveau de carburant (%)=fuel_fraction %|Niveau réservoir=fuel_fraction|Niveau cuve (litres)=fuel_l litres
        Tension phase 1 (V)=voltage_l1_v V|Tension composée L1-L2=voltage_l12_v|Courant L1 (A)=current_l1_a A
        Fréquence [Hz]=frequency_hz Hz|Puissance active (kW)=power_kw kW|Taux de charge [%]=load_fraction %|Charge [kW]=power_kw kW
        Présence secteur=mains_present|Tension réseau (V)=mains_v V|Disjoncteur groupe=on_load|Mode de fonctionnement=mode
        État du moteur=state|Défaut=alarm|Nombre de démarrages=starts_counter|Consommation carburant (l/h)=fuel_flow_lph l/h
        Tension chargeur=charger_v|Alternateur de charge [V]=charge_alternator_v V""",
    "Spanish": """
        Tensión de batería (V)=battery_v V|Tension de bateria=battery_v|Voltaje batería=battery_v
        Presión de aceite (bar)=oil_kpa bar|Presion aceite motor=oil_kpa|Presión del aceite kgf/cm²=oil_kpa kgf/cm²
        Temperatura del refrigerante [°C]=coolant_c °C|Temp. agua=coolant_c|Temperatura ambiente=ambient_c
        Velocidad del motor [rpm]=speed_rpm rpm|Revoluciones=speed_rpm|Horas de funcionamiento=hour_meter_h h|Horómetro [h]=hour_meter_h h
        Nivel de combustible (%)=fuel_fraction %|Nivel gasóleo=fuel_fraction|Depósito (litros)=fuel_l litros
        Tensión fase R=voltage_l1_v|Tensión L2-N (V)=voltage_l2_v V|Corriente L3=current_l3_a|Frecuencia (Hz)=frequency_hz Hz
        Potencia activa [kW]=power_kw kW|Carga del generador %=load_fraction %|Red presente=mains_present|Tensión de red [V]=mains_v V
        Frecuencia de red=mains_hz|Interruptor del grupo=on_load|Modo de operación=mode|Estado del motor=state|Alarmas=alarm
        Número de arranques=starts_counter|N° de arranques=starts_counter|Consumo de combustible (l/h)=fuel_flow_lph l/h""",
    "Portuguese": """
        Tensão da bateria [V]=battery_v V|Tensao bateria=battery_v|Bateria de partida=battery_v
        Pressão do óleo (bar)=oil_kpa bar|Pressao oleo kgf/cm²=oil_kpa kgf/cm²|Óleo do motor (bar)=oil_kpa bar
        Temperatura da água=coolant_c|Temperatura do líquido de arrefecimento (°C)=coolant_c °C|Temperatura ambiente=ambient_c
        Rotação do motor (rpm)=speed_rpm rpm|Velocidade do motor=speed_rpm|Horímetro=hour_meter_h h|Horimetro (h)=hour_meter_h h
        Horas de funcionamento=hour_meter_h h|Horas de operação=hour_meter_h h|Nível de combustível (%)=fuel_fraction %
        Nível do tanque (litros)=fuel_l litros|Tensão fase R=voltage_l1_v|Tensão L1-L2 (V)=voltage_l12_v V|Corrente L3 (A)=current_l3_a A
        Frequência (Hz)=frequency_hz Hz|Potência ativa (kW)=power_kw kW|Potência activa=power_kw|Rede presente=mains_present
        Tensão da rede (V)=mains_v V|Disjuntor do gerador=on_load|Modo de operação=mode|Seletor=mode|Estado do grupo=state|Falha=alarm
        Número de partidas=starts_counter|Número de arranques=starts_counter|Consumo de combustível (l/h)=fuel_flow_lph l/h""",
}


def cases() -> list[tuple[str, str, str]]:
    found = []
    for rows in HEADERS.values():
        for cell in (cell for row in rows.strip().split("\n") for cell in row.strip().split("|")):
            header, _, rest = cell.rpartition("=")
            signal, _, unit = rest.partition(" ")
            found.append((header, signal, unit))
    return found


@pytest.mark.parametrize(("header", "signal", "unit"), cases())
def test_a_header_names_its_signal_and_its_unit(header: str, signal: str, unit: str) -> None:
    heard = hear(header)
    assert heard.signal is not None
    assert heard.signal.name == signal
    assert heard.unit_text == unit
    if unit:
        assert heard.unit is not None
        assert heard.unit.quantity is heard.signal.quantity


@pytest.mark.parametrize(
    "header",
    [
        "Temperatur [°C]", "Température", "Temperatura [°C]", "Niveau", "Niveau [%]", "Nivel", "Nível", "Druck [bar]", "Presión",
        "Pression (bar)", "Charge [%]", "Carga", "Carga [%]", "Courant de charge [A]", "Corriente de carga", "Tension alternateur",
        "Nível de óleo", "Nivel de aceite [%]", "Ölstand", "Kühlwasserstand [%]", "Niveau d'huile", "Courants", "Tensions",
        "Strom Motor", "Courant moteur", "Abgastemperatur [°C]", "Température d'échappement", "Red", "Réseau", "Rede", "Hora",
        "Zeit", "Datum/Uhrzeit", "Horodatage", "Fecha y hora", "Data/Hora", "Differenzdruck Öl", "Blindleistung", "cos phi",
        "Coolant temp std",
    ],
)  # fmt: skip
def test_what_could_mean_two_things_means_none(header: str) -> None:
    heard = hear(header)
    assert (heard.signal, heard.clash) == (None, None)


@cache
def every_alias() -> dict[str, list[tuple[str, str]]]:
    found: dict[str, list[tuple[str, str]]] = {}
    for signal in SIGNALS:
        for alias in signal.aliases:
            found.setdefault(key_of(alias), []).append((signal.name, alias))
    for language in languages():
        for name, aliases in aliases_of(language).items():
            for alias in aliases:
                for key in keys_of(alias):
                    found.setdefault(key, []).append((name, alias))
    return found


def test_no_alias_of_any_language_means_two_signals() -> None:
    twofold = {key: own for key, own in every_alias().items() if len({name for name, _ in own}) > 1}
    assert twofold == {}


def test_no_name_of_a_time_a_set_or_a_value_is_a_signals_too() -> None:
    own = column_words(lambda w: (*w.times, *w.values, *w.unit_words, *w.names))
    assert [word for word in own if signal_named(word, None) is not None] == []


def test_every_alias_is_heard_with_and_without_accents_and_joints() -> None:
    for language in languages():
        for name, aliases in aliases_of(language).items():
            for alias in aliases:
                ways = [alias, plain(alias), alias.upper(), alias.replace(" ", "_"), alias.replace(" ", "-")]
                if plain(alias).replace(" ", "") == key_of(alias):
                    ways.append(alias.title().replace(" ", ""))
                for way in ways:
                    signal = hear(way).signal
                    assert signal is not None, way
                    assert signal.name == name, way


def test_the_same_words_beside_a_unit_mean_one_signal_of_that_quantity() -> None:
    for language in languages():
        for quantity, own in language.by_unit.items():
            for name, patterns in own.items():
                assert BY_NAME[name].quantity is quantity
                for words in every(patterns):
                    assert signal_named(words, quantity) == name


@given(st.text(alphabet="abdeghiklmnoprstuvzäöüßéèçñãõ ./-_", min_size=1, max_size=24))
def test_nothing_is_matched_by_likeness(text: str) -> None:
    signal = signal_named(text, None)
    if signal is not None:
        known = every_alias()
        key = key_of(text)
        words = {k for language in languages() for w in (*language.engine, *language.generator) for k in keys_of(w)}
        rests = {key, *(key.removeprefix(w) for w in words), *(key.removesuffix(w) for w in words)}
        assert any(name == signal for rest in rests if rest in known for name, _ in known[rest])


@pytest.mark.parametrize(
    ("spelling", "unit"),
    [
        ("U/min", "rpm"), ("tr/min", "rpm"), ("min⁻¹", "rpm"), ("r.p.m.", "rpm"), ("Std.", "h"), ("heures", "h"), ("horas", "h"),
        ("Liter", "l"), ("litres", "l"), ("litros", "l"), ("Prozent", "%"), ("pour cent", "%"), ("Grad Celsius", "cel"),
        ("grados C", "cel"), ("graus Celsius", "cel"), ("degrés C", "cel"), ("litros/hora", "l/h"), ("galones", "gal"),
        ("bares", "bar"), ("kg/cm²", "kgf/cm2"), ("voltios", "v"), ("hPa", "hpa"),
    ],
)  # fmt: skip
def test_spelled_units(spelling: str, unit: str) -> None:
    assert unit_named(spelling) == UNITS[unit]


@pytest.mark.published("from memory, not re-read: NIST SP 811, appendix B.8: 1 kgf/cm2 = 9.806 65 E+04 Pa")
def test_kilogram_force_per_square_centimetre() -> None:
    assert UNITS["kgf/cm2"].factor == pytest.approx(98.0665)


@pytest.mark.parametrize(
    ("word", "mode"),
    [
        ("Automatik", Mode.AUTOMATIC), ("automatique", Mode.AUTOMATIC), ("AUTOMÁTICO", Mode.AUTOMATIC), ("Handbetrieb", Mode.MANUAL),
        ("manuel", Mode.MANUAL), ("Aus", Mode.OFF), ("Arrêt", Mode.OFF), ("arret", Mode.OFF), ("apagado", Mode.OFF),
        ("desligado", Mode.OFF), ("Probelauf", Mode.TEST), ("essai", Mode.TEST), ("prueba", Mode.TEST), ("teste", Mode.TEST),
        ("vielleicht", None),
    ],
)  # fmt: skip
def test_modes(word: str, mode: Mode | None) -> None:
    assert mode_named(word) is mode


@pytest.mark.parametrize(
    ("word", "truth"),
    [
        ("ja", True), ("nein", False), ("ein", True), ("aus", False), ("oui", True), ("non", False), ("marche", True), ("arrêt", False),
        ("sí", True), ("Si", True), ("encendido", True), ("apagado", False), ("ligado", True), ("desligado", False), ("sim", True),
        ("não", False), ("nao", False), ("vorhanden", True), ("absent", False), ("o", None),
    ],
)  # fmt: skip
def test_flags(word: str, truth: bool | None) -> None:
    assert truth_named(word) is truth


def test_words_of_cells_never_contradict_each_other_or_the_english_ones() -> None:
    for one, other in combinations([*languages()], 2):
        for mode, words in one.modes.items():
            for second, others in other.modes.items():
                if mode is not second:
                    assert not {key_of(w) for w in every(words)} & {key_of(w) for w in every(others)}
        assert not {key_of(w) for w in one.true} & {key_of(w) for w in other.false}
        assert not {key_of(w) for w in one.false} & {key_of(w) for w in other.true}
    for language in languages():
        assert all(
            MODE_WORDS.get(plain(w), mode) is mode for mode, words in language.modes.items() for w in every(words)
        )
        assert not {plain(w) for w in language.true} & FALSE_WORDS
        assert not {plain(w) for w in language.false} & TRUE_WORDS


def test_no_alarm_and_states() -> None:
    assert all(means_nothing(w) for w in ("keine Störung", "aucune alarme", "sin alarmas", "sem falhas", "i.O."))
    assert not any(
        means_nothing(w) for w in ("Öldruck niedrig", "défaut démarrage", "fallo de arranque", "falha de partida")
    )
    assert [state_named(w) for w in ("läuft", "à l'arrêt", "en marcha", "parado", "sonstwas")] == [
        "running", "stopped", "running", "stopped", None,
    ]  # fmt: skip


ENGLISH = (
    "Time;Generator voltage L1 (V);Frequency (Hz);Engine speed (rpm);Active power (kW);Load (%);Oil pressure (bar);"
    "Coolant temperature (°C);Ambient temperature (°C);Battery voltage (V);Fuel level (%);Run hours;Starts;Mains present;"
    "Mode;State;Alarm"
)
TRANSLATED = {
    "German": (
        ("Datum/Uhrzeit;Generatorspannung L1 (V);Frequenz (Hz);Drehzahl (U/min);Wirkleistung (kW);Auslastung (%);Öldruck (bar);"
        "Kühlmitteltemperatur (°C);Umgebungstemperatur (°C);Batt.-Spg. (V);Tankfüllstand (%);Betriebsstunden;Anzahl Starts;"
        "Netz vorhanden;Betriebsart;Betriebszustand;Störung"),
        {"yes": "ja", "no": "nein", "automatic": "Automatik", "running": "läuft", "stopped": "steht", "none": "keine Störung"},
    ),
    "French": (
        ("Horodatage;Tension L1 (V);Fréquence (Hz);Régime moteur (tr/min);Puissance active (kW);Taux de charge (%);"
        "Pression d'huile (bar);Température d'eau (°C);Température ambiante (°C);Tension batterie (V);Niveau de carburant (%);"
        "Heures de marche;Nombre de démarrages;Présence secteur;Mode de fonctionnement;État du groupe;Alarme"),
        {"yes": "oui", "no": "non", "automatic": "Automatique", "running": "en marche", "stopped": "à l'arrêt", "none": "aucune"},
    ),
    "Spanish": (
        ("Fecha y hora;Tensión L1 (V);Frecuencia (Hz);Velocidad del motor (rpm);Potencia activa (kW);Carga del generador (%);"
        "Presión de aceite (bar);Temperatura del refrigerante (°C);Temperatura ambiente (°C);Tensión de batería (V);"
        "Nivel de combustible (%);Horas de funcionamiento;Número de arranques;Red presente;Modo;Estado del motor;Alarma"),
        {"yes": "sí", "no": "no", "automatic": "automático", "running": "en marcha", "stopped": "parado", "none": "ninguna"},
    ),
    "Portuguese": (
        ("Data/Hora;Tensão L1 (V);Frequência (Hz);Rotação do motor (rpm);Potência ativa (kW);Carga do gerador (%);"
        "Pressão do óleo (bar);Temperatura da água (°C);Temperatura ambiente (°C);Tensão da bateria (V);Nível de combustível (%);"
        "Horímetro;Número de partidas;Rede presente;Modo;Estado do motor;Alarme"),
        {"yes": "sim", "no": "não", "automatic": "automático", "running": "em funcionamento", "stopped": "parado", "none": "nenhum"},
    ),
}  # fmt: skip


def log(header: str, words: dict[str, str]) -> str:
    rows = [header]
    for n in range(40):
        on = 15 <= n < 30
        row = [
            f"{15 + n // 30}.01.2026 10:{n % 30:02}:00", "231,4" if on else "0,0", "50,12" if on else "0,00",
            "1503" if on else "0", "4,25" if on else "0,00", "35,5" if on else "0", "3,95" if on else "0,00",
            f"{20 + max(n - 14, 0) * 1.5:.1f}".replace(".", ","), "18,5", "13,9" if on else "12,65",
            f"{81.5 - n / 10:.1f}".replace(".", ","), f"{412 + max(n - 14, 0) / 60:.2f}".replace(".", ","), "97",
            words.get("no" if on else "yes", "no" if on else "yes"), words.get("automatic", "automatic"),
            words.get("running", "running") if on else words.get("stopped", "stopped"), words.get("none", "none"),
        ]  # fmt: skip
        rows.append(";".join(row))
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize("encoding", ["utf-8", "windows-1252"])
@pytest.mark.parametrize("language", TRANSLATED)
def test_a_whole_log_reads_as_its_english_twin(tmp_path: Path, language: str, encoding: str) -> None:
    header, words = TRANSLATED[language]
    english, other = tmp_path / "en" / "P-1.csv", tmp_path / "xx" / "P-1.csv"
    for path, text in ((english, log(ENGLISH, {})), (other, log(header, words))):
        path.parent.mkdir()
        path.write_bytes(text.encode(encoding))
    one, two = read_file(english), read_file(other)
    assert len(one.frame.columns) == 20
    assert one.readings.problems == two.readings.problems == ()
    text = pl.col("mode", "state", "set_id").cast(pl.String)
    assert two.frame.with_columns(text).equals(one.frame.with_columns(text))
    assert two.readings.refused.height == 0


def test_a_log_with_one_row_a_value_in_portuguese(tmp_path: Path) -> None:
    text = "Data;Parâmetro;Valor;Unidade\n"
    for minute in range(3):
        text += f"2026-01-05 10:0{minute}:00;Tensão da bateria;12,{minute};V\n2026-01-05 10:0{minute}:00;Pressão do óleo;3,5;bar\n"
    path = tmp_path / "P-1.csv"
    path.write_text(text, encoding="utf-8")
    got = read_file(path)
    assert got.frame["battery_v"].drop_nulls().to_list() == [12.0, 12.1, 12.2]
    assert got.frame["oil_kpa"].drop_nulls().to_list() == [350.0] * 3


def test_each_quantity_of_a_language_is_one_of_ours() -> None:
    for language in languages():
        assert set(language.signals) <= set(BY_NAME)
        assert {BY_NAME[name].quantity for name in language.signals} <= set(Quantity)
        assert set(language.units) <= set(UNITS)


@pytest.mark.parametrize(
    "header", ["Aggregat", "Groupe électrogène", "Grupo electrógeno", "Grupo gerador", "Equipamento"]
)
def test_a_column_that_names_the_set(tmp_path: Path, header: str) -> None:
    text = f"Zeit,{header},Batteriespannung (V)\n" + "".join(
        f"2026-01-05 10:0{n}:00,K-{n % 2},12.6\n" for n in range(6)
    )
    path = tmp_path / "P-1.csv"
    path.write_text(text, encoding="utf-8")
    assert read_file(path).file.set_ids == ("K-0", "K-1")
