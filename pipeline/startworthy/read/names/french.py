"""French trade words. Common practice, no source; quantities and devices as IEC 60050 names them in French.

"Charge" and "courant de charge" mean the load and the charging of a battery, "tension alternateur" the set's
output and the charging alternator's: they are in no list.
"""

from __future__ import annotations

from startworthy.read.names.language import Language
from startworthy.signals import Mode, Quantity

_SET = "{groupe,générateur,groupe électrogène,ge,gén}"
_FUEL = "{carburant,combustible,gazole,gasoil,fioul,fuel,diesel}"
_TANK = "{réservoir,cuve,réservoir carburant,cuve carburant}"

FRENCH = Language(
    signals={
        "voltage_v": ("tension", f"tension {_SET}", "tension {de sortie,sortie,de ligne}"),
        "current_a": ("courant", "intensité", f"{{courant,intensité}} {_SET}", "courant {de sortie,sortie,débité}"),
        "frequency_hz": ("fréquence", "fréq", f"{{fréquence,fréq}} {_SET}",
            "fréquence {alternateur,de sortie,sortie}"),
        "speed_rpm": (
            "vitesse", "régime", "vitesse {moteur,de rotation,de rotation moteur,rotation}",
            "régime {moteur,de rotation}", f"vitesse {_SET}", "tours moteur",
        ),
        "power_kw": (
            "puissance", "puissance {active,active totale,totale,réelle,de sortie,délivrée}",
            f"puissance {{,active }}{_SET}",
        ),
        "load_fraction": (
            f"charge {_SET}", "charge moteur", "taux de charge", f"taux de charge {_SET}", "facteur de charge",
            "pourcentage de charge",
        ),
        "oil_kpa": (
            "{pression,press,p} {huile,d'huile,huile moteur,d'huile moteur,de l'huile,de lubrification}",
        ),
        "coolant_c": (
            "{température,temp,t°} {eau,eau moteur,liquide de refroidissement,liquide refroid}",
            "{température,temp,t°} {eau de refroidissement,réfrigérant,moteur,ldr,circuit d'eau,culasse}",
            "{température,temp,t°} {liquide de refroidissement moteur,fluide de refroidissement}",
        ),
        "oil_c": ("{température,temp,t°} {huile,d'huile,huile moteur,d'huile moteur,de l'huile}",),
        "ambient_c": (
            "{température,temp,t°} {ambiante,extérieure,air,air ambiant,air extérieur,ext,amb,local}",
        ),
        "enclosure_c": ("{température,temp,t°} {capot,capotage,caisson,enceinte}",),
        "battery_v": (
            "{tension,u,voltage} {batterie,batteries,batterie de démarrage,batterie démarrage,batt,bat}",
            "batterie de démarrage", "batterie démarrage", "tension continue",
        ),
        "charger_v": ("tension {chargeur,chargeur de batterie,chargeur batterie,du chargeur}",
            "chargeur{, de batterie, batterie}"),
        "charge_alternator_v": (
            "tension {alternateur de charge,alternateur charge}", "alternateur de charge",
        ),
        "charger_a": (
            "{courant,intensité} {chargeur,chargeur de batterie,chargeur batterie,batterie,de charge batterie}",
        ),
        "fuel_fraction": (
            f"{{niveau,niv}} {_FUEL}", f"{{niveau,niv}} {_TANK}",
            "{niveau,niv} {réservoir,cuve} {gazole,gasoil,fioul,fuel,carburant}",
            "carburant", "gazole", "gasoil", "fioul", "réservoir carburant", "cuve carburant",
            "réservoir de carburant",
        ),
        "fuel_l": (
            f"{{volume,quantité}} {_FUEL}", f"{{volume,contenu}} {_TANK}", "carburant restant", "gazole restant",
        ),
        "fuel_flow_lph": (
            f"{{consommation,conso,débit}} {_FUEL}", "consommation {instantanée,horaire} {carburant,de carburant}",
        ),
        "hour_meter_h": (
            "heures {de marche,de fonctionnement,moteur,du moteur,groupe,totales,de service,de marche moteur}",
            "heures",
            "compteur {horaire,d'heures,heures}", "horamètre", "nombre d'heures", "nb heures",
            "temps de {fonctionnement,marche}", "total heures", "nombre d'heures de {marche,fonctionnement}",
        ),
        "starts_counter": (
            "démarrages", "{nombre,nb,nbre,compteur,total} {de ,}démarrages", "démarrages moteur",
        ),
        "mains_present": (
            "secteur", "secteur {présent,ok,disponible}", "réseau {présent,ok,disponible}",
            "présence {secteur,réseau}",
            "état {secteur,réseau}",
        ),
        "mains_v": ("tension {secteur,réseau,du réseau}{, l1, l1 n}",),
        "mains_hz": ("{fréquence,fréq} {secteur,réseau,du réseau}",),
        "on_load": (
            "{disjoncteur,contacteur} {groupe,générateur,alternateur,groupe électrogène,gén}", "groupe en charge",
            "{disjoncteur,contacteur} {groupe,générateur} fermé", "générateur en charge",
        ),
        "mode": (
            "mode {de fonctionnement,fonctionnement,de marche}", "sélecteur", "sélecteur de mode",
            "commutateur de mode",
            "position {sélecteur,du sélecteur,commutateur}",
        ),
        "state": ("état", "état {moteur,du moteur,groupe,du groupe,générateur,de fonctionnement,de marche}",
            "statut"),
        "alarm": (
            "alarme{,s}", "défaut{,s}", "alarme active", "alarmes actives", "défaut {actif,en cours}",
            "message {d'alarme,de défaut}", "avertissement{,s}", "évènement{,s}", "événement{,s}", "texte alarme",
        ),
    },
    by_unit={
        Quantity.PRESSURE: {"oil_kpa": ("huile", "huile moteur")},
        Quantity.TEMPERATURE: {
            "oil_c": ("huile", "huile moteur"), "coolant_c": ("liquide de refroidissement", "eau moteur"),
        },
        Quantity.VOLTAGE: {"mains_v": ("secteur", "réseau"), "voltage_v": ("groupe", "générateur"),
            "battery_v": ("batterie",)},
        Quantity.FREQUENCY: {"mains_hz": ("secteur", "réseau"), "frequency_hz": ("groupe", "générateur")},
        Quantity.CURRENT: {"current_a": ("groupe", "générateur"), "charger_a": ("chargeur",)},
        Quantity.POWER: {"power_kw": ("charge", "groupe", "générateur")},
        Quantity.FRACTION: {"fuel_fraction": ("réservoir", "cuve")},
        Quantity.VOLUME: {"fuel_l": ("réservoir", "cuve")},
    },
    volts=("tension", "tension {groupe,générateur,simple,composée,de phase,alternateur}"),
    amps=("courant", "intensité", "courant {groupe,générateur,de phase,de ligne}"),
    phases=("phase", "ph"),
    units={
        "h": ("heure", "heures"), "min": ("minute", "minutes"), "s": ("seconde", "secondes"),
        "rpm": ("tr/min", "trs/min", "tours/min", "tr/mn", "tours/minute"), "l": ("litre", "litres"),
        "l/h": ("litres/heure", "l/heure", "litres/h"), "%": ("pour cent", "pourcent"),
        "cel": ("degrés c", "degrés celsius", "degré celsius"), "degf": ("degrés f", "degrés fahrenheit"),
        "a": ("ampère", "ampères"),
    },
    modes={
        Mode.AUTOMATIC: ("automatique", "mode automatique", "en automatique", "mode auto"),
        Mode.MANUAL: ("manuel", "manu", "mode manuel", "marche", "marche manuelle", "marche forcée"),
        Mode.OFF: ("arrêt", "hors service", "arrêté", "hors tension", "verrouillé", "mode arrêt"),
        Mode.TEST: ("essai", "mode essai", "mode test", "en essai"),
    },
    states={
        "running": ("en marche", "marche", "en fonctionnement", "moteur tournant", "moteur en marche"),
        "stopped": ("arrêt", "arrêté", "à l'arrêt", "moteur arrêté"),
        "ready": ("prêt", "en attente", "en veille", "veille"),
        "cranking": ("démarreur actif", "lancement"),
        "starting": ("démarrage", "en démarrage"),
        "preheat": ("préchauffage",),
        "cooling down": ("refroidissement", "temporisation de refroidissement"),
        "on load": ("en charge",),
        "warming up": ("mise en température",),
    },
    no_alarm=(
        "aucun", "aucune", "aucune {alarme,anomalie}", "aucun {défaut,évènement,événement,message}", "pas d'alarme",
        "pas de défaut", "sans défaut", "sans alarme", "néant", "rien à signaler", "ras", "non",
    ),
    true=("oui", "marche", "en marche", "présent", "présente", "fermé", "vrai", "actif", "disponible"),
    false=(
        "non", "arrêt", "absent", "absente", "ouvert", "faux", "inactif", "indisponible", "coupé", "coupure",
        "défaut",
    ),
    times=(
        "horodatage", "horodate", "heure", "date heure", "date et heure", "date {utc,locale}", "heure {utc,locale}",
        "temps", "date de mesure", "jour heure",
    ),
    elapsed=("temps", "temps écoulé", "secondes", "durée"),
    sets=(
        "groupe électrogène", "id groupe", "nom du groupe", "n° groupe", "numéro du groupe", "groupe", "équipement",
        "id équipement", "appareil", "id appareil", "nom équipement",
    ),
    names=("paramètre", "grandeur", "voie", "nom du paramètre", "point de mesure", "désignation", "nom"),
    values=("valeur", "valeur mesurée"),
    unit_words=("unité", "unités"),
    engine=("moteur",),
    generator=("groupe", "générateur", "groupe électrogène"),
    months=(
        ("janvier",), ("février",), ("mars",), ("avril",), ("mai",), ("juin",), ("juillet",), ("août",),
        ("septembre",),
        ("octobre",), ("novembre",), ("décembre",),
    ),
)  # fmt: skip
