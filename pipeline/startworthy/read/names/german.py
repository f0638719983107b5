"""German trade words. Common practice, no source; quantities and devices as IEC 60050 names them in German."""

from __future__ import annotations

from startworthy.read.names.language import Language
from startworthy.signals import Mode, Quantity

GERMAN = Language(
    signals={
        "voltage_v": (
            "spannung", "{generator,gen ,aggregat,ausgangs,klemmen,wechsel}{spannung,spg}",
            "spannung {generator,gen,aggregat,ausgang}", "u generator",
        ),
        "current_a": (
            "strom", "stromstärke", "{generator,gen ,last,ausgangs,aggregat,verbraucher,wechsel}strom",
            "strom {generator,gen,aggregat,last}",
        ),
        "frequency_hz": (
            "frequenz", "{generator,gen ,ausgangs,aggregat}{frequenz,freq}", "frequenz {generator,gen,aggregat}",
        ),
        "speed_rpm": (
            "{,motor,diesel,generator,aggregat}{drehzahl,drehz}", "drehzahl {motor,generator,aggregat}",
            "{,motor}umdrehungen", "umdrehungszahl",
        ),
        "power_kw": (
            "leistung", "last", "{,generator,gesamt,aggregat}wirkleistung",
            "{generator,gen ,abgabe,ausgangs,last,gesamt,aggregat}leistung",
            "wirkleistung {gesamt,summe,generator,gen}", "leistung {gesamt,summe,generator,gen,aggregat}",
        ),
        "load_fraction": (
            "{,motor,generator,aggregat}auslastung", "auslastung {motor,generator,aggregat}",
            "{generator,gen ,aggregat,motor}last", "relative last", "last prozent", "lastgrad",
        ),
        "oil_kpa": (
            "{,motor,schmier,motoren}öl{druck,dr}", "druck {öl,motoröl,schmieröl}", "öldruck motor",
        ),
        "coolant_c": (
            ("{kühlmittel,kühlwasser,kühlflüssigkeit,kühlflüssigkeits,kühlm ,kühlw ,motor,wasser,motorwasser}"
             "{temperatur,temp}"),
            "{temperatur,temp} {kühlmittel,kühlwasser,kühlflüssigkeit,kühlm,kühlw,motor,wasser}",
            "{zylinderkopf,zylinder}{temperatur,temp}",
        ),
        "oil_c": ("{,motor,schmier}öl{temperatur,temp}", "{temperatur,temp} {öl,motoröl,schmieröl}"),
        "ambient_c": (
            "{umgebungs,umgebungsluft,außen,außenluft,luft,raum}{temperatur,temp}",
            "{temperatur,temp} {umgebung,außen,außenluft,raum}",
        ),
        "enclosure_c": ("{gehäuse,hauben,schallhauben}{temperatur,temp}", "{temperatur,temp} {gehäuse,haube}"),
        "battery_v": (
            "{batterie,starterbatterie,anlasserbatterie,batt ,bat ,starterbatt ,akku}{spannung,spg}",
            "spannung {batterie,starterbatterie,batt,akku}", "batterie", "starterbatterie", "anlasserbatterie",
            "u {batterie,akku}", "bordspannung", "bordnetzspannung", "gleichspannung",
        ),
        "charger_v": (
            "{,batterie}ladegerät{,spannung, spg,e spannung}", "spannung {ladegerät,batterieladegerät}",
        ),
        "charge_alternator_v": (
            "lichtmaschine{,nspannung, spannung,n spg}", "lima{,spannung, spg}", "spannung {lichtmaschine,lima}",
            "ladegenerator{,spannung, spg}", "spannung ladegenerator",
        ),
        "charger_a": (
            "ladestrom", "{batterie,batterielade,ladegerät,ladegeräte}strom",
            "strom {ladegerät,batterieladegerät,batterie}",
        ),
        "fuel_fraction": (
            "{kraftstoff,diesel,tank,kraftstofftank,dieseltank,brennstoff,treibstoff}{stand,füllstand,niveau,pegel}",
            "{füllstand,niveau,pegel,stand} {tank,kraftstoff,diesel,kraftstofftank,dieseltank,treibstoff}",
            "kraftstoff", "treibstoff", "kraftstofftank", "dieseltank", "kraftstoff prozent",
        ),
        "fuel_l": (
            "tankinhalt", "{kraftstoff,diesel,treibstoff}{menge,volumen,vorrat,inhalt}", "tankvolumen",
            "{inhalt,vorrat} {tank,kraftstofftank,dieseltank,kraftstoff}", "restkraftstoff",
        ),
        "fuel_flow_lph": (
            "{kraftstoff,diesel,treibstoff,brennstoff}{verbrauch,durchfluss}",
            "{verbrauch,durchfluss} {kraftstoff,diesel}",
        ),
        "hour_meter_h": (
            "betriebsstunden{,zähler,stand, gesamt, motor}", "betr {std,stunden}", "bstd", "{motor,lauf}stunden",
            "motorbetriebsstunden", "stunden", "stundenzähler", "{,motor}laufzeit", "betriebszeit",
            "gesamtbetriebsstunden", "betriebsstunden aggregat",
        ),
        "starts_counter": (
            "{start,anlass}zähler", "{anzahl,zahl der,summe} starts", "startanzahl", "motorstarts",
            "anzahl motorstarts",
            "startversuche",
        ),
        "mains_present": (
            "netz", "netz {vorhanden,ok,da,verfügbar,ein,anwesend}", "netz{status,zustand}", "netzversorgung",
        ),
        "mains_v": ("netz{spannung,spg, spg}", "spannung netz", "netz{spannung,spg, spg} {l1,l1 n}"),
        "mains_hz": ("netz{frequenz,freq, freq}", "frequenz netz"),
        "on_load": (
            "generator{schalter,schütz,leistungsschalter}", "generator{schalter,schütz} {ein,zu,geschlossen}",
            "{schalter,schütz} generator", "generator am netz", "last auf generator", "last übernommen",
        ),
        "mode": (
            "betriebsart{,enschalter,enwahl,enwahlschalter}", "modus", "betriebsmodus", "wahlschalter",
            "schlüsselschalter", "schalterstellung",
        ),
        "state": (
            "zustand", "betriebszustand", "{motor,generator,aggregat}{zustand,status}", "betriebsstatus",
        ),
        "alarm": (
            "{,stör}alarm{,e,meldung,text}", "störung{,en}", "stör{meldung,text,meldungen}",
            "fehler{,meldung,text}", "meldung{,en,stext}", "ereignis{,se}", "warnung{,en}", "abstellung",
        ),
    },
    by_unit={
        Quantity.PRESSURE: {"oil_kpa": ("öl", "motoröl", "schmieröl")},
        Quantity.TEMPERATURE: {
            "oil_c": ("öl", "motoröl", "schmieröl"),
            "coolant_c": ("kühlmittel", "kühlwasser"), "ambient_c": ("umgebung", "außenluft"),
        },
        Quantity.VOLTAGE: {"mains_v": ("netz",), "voltage_v": ("aggregat",)},
        Quantity.FREQUENCY: {"mains_hz": ("netz",), "frequency_hz": ("aggregat",)},
        Quantity.CURRENT: {"current_a": ("last", "aggregat"), "charger_a": ("ladegerät", "batterieladegerät")},
        Quantity.FRACTION: {"load_fraction": ("belastung",)},
        Quantity.POWER: {"power_kw": ("belastung", "aggregat")},
    },
    volts=("spannung", "{generator,gen ,ausgangs,leiter,außenleiter,strang}{spannung,spg}", "spg"),
    amps=("strom", "{generator,gen ,last,leiter,strang}strom"),
    phases=("phase", "leiter", "außenleiter"),
    units={
        "h": ("std", "stunde", "stunden"), "min": ("minute", "minuten"), "s": ("sek", "sekunde", "sekunden"),
        "rpm": ("u/min", "upm", "umdr/min", "umdrehungen/min"), "l": ("liter",), "l/h": ("l/std", "liter/h",
            "liter/std"),
        "gal": ("gallone", "gallonen"), "%": ("prozent", "v.h."),
        "cel": ("grad c", "grad celsius", "gradc"), "degf": ("grad f", "grad fahrenheit"),
    },
    modes={
        Mode.AUTOMATIC: (
            "automatik", "automatisch", "automatikbetrieb", "automatikmodus", "bereitschaft", "in automatik",
        ),
        Mode.MANUAL: ("handbetrieb", "manuell", "ein", "handstart", "manueller betrieb"),
        Mode.OFF: ("aus", "stopp", "gestoppt", "außer betrieb", "gesperrt", "verriegelt"),
        Mode.TEST: ("testbetrieb", "probelauf", "probebetrieb", "testlauf"),
    },
    states={
        "running": ("läuft", "in betrieb", "betrieb", "motor läuft"),
        "stopped": ("steht", "stillstand", "gestoppt", "motor steht", "aus"),
        "ready": ("bereit", "startbereit", "bereitschaft", "betriebsbereit"),
        "cranking": ("anlassen", "anlasser dreht"),
        "starting": ("startet", "startvorgang"),
        "preheat": ("vorglühen", "vorheizen"),
        "cooling down": ("nachlauf", "abkühlen", "kühllauf", "nachkühlung"),
        "on load": ("unter last", "lastbetrieb", "am netz"),
        "warming up": ("warmlauf",),
    },
    no_alarm=(
        "kein", "keine", "keiner", "kein {alarm,fehler,ereignis}",
        "keine {alarme,fehler,störung,störungen,meldung,meldungen}",
        "keine {warnung,warnungen,ereignisse}", "in ordnung", "i.o.", "i. o.", "störungsfrei", "fehlerfrei",
        "gesund", "nein",
    ),
    true=(
        "ja", "j", "ein", "an", "vorhanden", "geschlossen", "zu", "wahr", "aktiv", "verfügbar", "in ordnung",
        "i.o.",
        "eingeschaltet",
    ),
    false=(
        "nein", "aus", "fehlt", "offen", "auf", "geöffnet", "falsch", "inaktiv", "ausgefallen", "ausfall",
        "gestört",
        "nicht vorhanden", "ausgeschaltet", "nicht verfügbar",
    ),
    times=(
        "zeit", "zeitstempel", "datum", "uhrzeit", "datum uhrzeit", "datum zeit", "datum und {zeit,uhrzeit}",
        "zeitpunkt", "ortszeit", "lokale zeit", "zeit utc", "messzeit", "tag uhrzeit",
    ),
    elapsed=("zeit", "laufzeit", "sekunden", "verstrichene zeit", "zeit seit start"),
    sets=(
        "aggregat {id,nr,nummer,name}", "aggregat", "stromaggregat", "notstromaggregat", "anlage",
        "anlagen {id,nr,name}",
        "anlagenname", "gerät", "geräte {id,nr,name}", "gerätename", "gerätenummer", "maschine",
        "maschinen {id,nr}",
    ),
    names=("messgröße", "messstelle", "kanal", "signalname", "bezeichnung", "parametername", "größe", "messpunkt"),
    values=("wert", "messwert", "istwert"),
    unit_words=("einheit", "maßeinheit"),
    engine=("motor", "diesel"),
    generator=("generator", "gen", "aggregat"),
    months=(
        ("januar", "jänner"), ("februar", "feber"), ("märz",), ("april",), ("mai",), ("juni",), ("juli",),
        ("august",),
        ("september",), ("oktober",), ("november",), ("dezember",),
    ),
)  # fmt: skip
