"""What alarm texts say, in English, German, French, Spanish and Portuguese: patterns over lower-case text.

Trade words; common practice, no source. A text that none of them fits says nothing, and is shown as it is.
"""

from __future__ import annotations

FAILED_START = "|".join(
    (
        r"(fail|fault|no).{0,12}(start|crank)|(start|crank).{0,12}fail|over ?crank|did not start|not started",
        r"fehlstart|start ?-?(fehler|störung|stoerung|versagen)|(start|anlass).{0,12}(fehlgeschl|erfolglos|misslungen)",
        r"kein start|nicht (gestartet|angesprungen)",
        r"([ée]chec|d[ée]faut|rat[ée]).{0,12}d[ée]marr|d[ée]marr.{0,12}([ée]chou|impossible|rat[ée])|non.?d[ée]marr",
        r"(fallo|falla|fall[óo]|error).{0,12}arran|arranque.{0,12}(fallid|fall[óo])|no arranc",
        r"falha.{0,12}(partida|arranque)|(partida|arranque).{0,12}falh|n[ãa]o (partiu|arrancou)",
    )
)

ENDS: tuple[tuple[str, str], ...] = (
    ("oil", r"oil|öldruck|oeldruck|öl ?mangel|\böl|huile|aceite|\b[óo]leo"),
    (
        "coolant",
        (
            r"coolant|temperatur|overheat|water temp|hot engine|engine hot|k[üu]e?hl(mittel|wasser)|[üu]e?berhitz"
            r"|refroid|surchauffe|temp[ée]rature|refrigerant|sobretemp|sobrecalent|superaquec|arrefec"
        ),
    ),
    ("overspeed", r"overspeed|over speed|[üu]e?berdrehzahl|survitesse|sobrevelocidad"),
    (
        "overload",
        (
            r"overload|over load|overcurrent|over current|[üu]e?berlast|[üu]e?berstrom|surcharge|surintensit"
            r"|sobrecarga|sobrecorr|sobreintens"
        ),
    ),
    ("fuel", r"fuel|kraftstoff|brennstoff|carburant|gas-?oil|gas[óo]leo|combust[íi]"),
    (
        "shutdown",
        (
            r"shut ?down|trip|emergency|stopped on|failed to run|fail to run|abschalt|abgestellt|not-?(aus|halt)\b"
            r"|d[ée]clench|arr[êe]t d.urgence|parada|paragem|disparo|emerg[êe]ncia|emergencia"
        ),
    ),
)
"""How a run ended, in the order in which the words are looked for."""

NOT_AN_END = (
    r"warn|start|crank|batter|\bcharg|overcharg|mains|service|maint|bater[íi]a|\blade|netz|wartung|avertiss|alert|aviso|d[ée]marr"
    r"|secteur|r[ée]seau|entretien|arran|partida|\bred\b|\brede\b|mantenim|manuten|carregador|cargador"
)
"""Texts that tell of something else, whatever other words they hold."""
