"""Spanish trade words. Common practice, no source; quantities and devices as IEC 60050 names them in Spanish.

"Carga" and "corriente de carga" mean the load and the charging of a battery, "tensión del alternador" the set's
output and the charging alternator's: they are in no list.
"""

from __future__ import annotations

from startworthy.read.names.language import Language
from startworthy.signals import Mode, Quantity

_SET = "{generador,grupo,grupo electrógeno,gen}"
_FUEL = "{combustible,gasóleo,gasoil,gas oil,diésel,gasóil}"
_TANK = "{depósito,tanque,depósito de combustible,tanque de combustible}"
_T = "{temperatura,temp}"

SPANISH = Language(
    signals={
        "voltage_v": ("tensión", "voltaje", f"{{tensión,voltaje}} {_SET}",
            "{tensión,voltaje} {de salida,salida,de línea}"),
        "current_a": ("corriente", "intensidad", f"{{corriente,intensidad}} {_SET}",
            "corriente {de salida,salida}"),
        "frequency_hz": ("frecuencia", "frec", f"{{frecuencia,frec}} {_SET}",
            "frecuencia {del alternador,de salida,salida}"),
        "speed_rpm": (
            "velocidad", "velocidad {del motor,motor,de giro,de rotación,de giro del motor}",
            "régimen {del motor,motor,de giro}",
            "revoluciones", "revoluciones {del motor,motor}", f"velocidad {_SET}",
        ),
        "power_kw": (
            "potencia", "potencia {activa,activa total,total,real,de salida,entregada}",
            f"potencia {{,activa }}{_SET}",
        ),
        "load_fraction": (
            f"carga {_SET}", "carga {del motor,motor}", "{porcentaje,nivel,factor} de carga", "carga relativa",
        ),
        "oil_kpa": ("{presión,pres} {aceite,de aceite,del aceite,aceite motor,de aceite del motor,aceite de motor}",),
        "coolant_c": (
            f"{_T} {{refrigerante,agua,agua del motor,agua de refrigeración,motor,líquido refrigerante}}",
            f"{_T} {{refrigerante del motor,culata,anticongelante}}",
        ),
        "oil_c": (f"{_T} {{aceite,del aceite,de aceite,aceite motor,aceite del motor}}",),
        "ambient_c": (f"{_T} {{ambiente,ambiental,exterior,aire,del aire,aire ambiente,amb,ext,sala,de la sala}}",),
        "enclosure_c": (f"{_T} {{cabina,de la cabina,cabina insonorizada,capota,envolvente}}",),
        "battery_v": (
            ("{tensión,voltaje} {batería,de batería,de la batería,baterías,de baterías,bat,batería de arranque,"
             "de la batería de arranque,batería arranque}"),
            "batería", "batería de arranque", "{tensión,voltaje} continua",
        ),
        "charger_v": (
            "{tensión,voltaje} {cargador,cargador de batería,cargador de baterías}",
            "cargador{, de batería, de baterías}",
        ),
        "charge_alternator_v": (
            "{tensión,voltaje} {alternador de carga,del alternador de carga}", "alternador de carga",
        ),
        "charger_a": (
            "{corriente,intensidad} {cargador,del cargador,cargador de batería,batería,de batería,de la batería}",
        ),
        "fuel_fraction": (
            f"{{nivel,niv}} {_FUEL}", f"{{nivel,niv}} {_TANK}", "combustible", "gasóleo", "gasoil",
            "{depósito,tanque} de combustible", "porcentaje de combustible",
        ),
        "fuel_l": (
            f"{{volumen,cantidad}} {_FUEL}", f"{{volumen,contenido}} {_TANK}", "combustible restante",
        ),
        "fuel_flow_lph": (f"{{consumo,caudal}} {_FUEL}", "consumo {instantáneo,horario} de combustible"),
        "hour_meter_h": (
            "horas {de funcionamiento,de marcha,del motor,de operación,de servicio,de trabajo,totales,trabajadas}",
            "horas del grupo",
            "horas", "horómetro", "contador de horas", "contador horas", "cuentahoras", "cuenta horas",
            "tiempo de {funcionamiento,marcha,operación}", "total horas", "total de horas",
        ),
        "starts_counter": (
            "arranques", "{número,nº,n°,nro,núm,contador,total} {de ,}arranques",
            "arranques {motor,del motor,totales}",
        ),
        "mains_present": (
            "red {presente,ok,disponible,normal}", "presencia {de red,red}", "estado {de red,de la red,red}",
        ),
        "mains_v": ("{tensión,voltaje} {de red,red,de la red}{, l1, l1 n}",),
        "mains_hz": ("{frecuencia,frec} {de red,red,de la red}",),
        "on_load": (
            "{interruptor,contactor,disyuntor} {generador,del generador,grupo,del grupo,de grupo,de generador}",
            "{interruptor,contactor} {de grupo,del generador,de generador} cerrado", "grupo en carga",
            "generador en carga",
        ),
        "mode": (
            "modo", "modo {de operación,de funcionamiento,operación,funcionamiento}", "selector de modo",
            "conmutador de modo",
            "posición {selector,del selector,conmutador}",
        ),
        "state": ("estado", "estado {del motor,motor,del grupo,grupo,del generador,generador,de funcionamiento}"),
        "alarm": (
            "alarma{,s}", "fallo{,s}", "falla{,s}", "avería{,s}", "alarma activa", "alarmas activas", "evento{,s}",
            "mensaje{,s}", "mensaje de {alarma,fallo}", "advertencia{,s}", "aviso{,s}", "texto de alarma",
        ),
    },
    by_unit={
        Quantity.PRESSURE: {"oil_kpa": ("aceite", "aceite motor", "aceite del motor")},
        Quantity.TEMPERATURE: {
            "oil_c": ("aceite", "aceite motor", "aceite del motor"), "coolant_c": ("refrigerante", "agua motor"),
        },
        Quantity.VOLTAGE: {"mains_v": ("red",), "voltage_v": ("generador", "grupo")},
        Quantity.FREQUENCY: {"mains_hz": ("red",), "frequency_hz": ("generador", "grupo")},
        Quantity.CURRENT: {"current_a": ("generador", "grupo"), "charger_a": ("cargador", "cargador de batería")},
        Quantity.POWER: {"power_kw": ("carga", "generador", "grupo")},
        Quantity.FRACTION: {"fuel_fraction": ("depósito", "tanque")},
        Quantity.VOLUME: {"fuel_l": ("depósito", "tanque")},
    },
    volts=("tensión", "voltaje", "{tensión,voltaje} {generador,del generador,grupo,del grupo,de fase,de línea}"),
    amps=("corriente", "intensidad", "corriente {generador,del generador,grupo,del grupo,de fase,de línea}"),
    phases=("fase",),
    units={
        "h": ("hora", "horas"), "min": ("minuto", "minutos"), "s": ("seg", "segundo", "segundos"),
        "rpm": ("rev/min", "r.p.m.", "revoluciones/min"), "l": ("litro", "litros"),
        "l/h": ("litros/hora", "l/hora", "litros/h"), "gal": ("galón", "galones"), "gal/h": ("galones/hora",
        "gal/hora"),
        "%": ("por ciento", "porciento"), "cel": ("grados c", "grados celsius", "grados centígrados"),
        "degf": ("grados f", "grados fahrenheit"), "a": ("amperio", "amperios"), "v": ("voltio", "voltios"),
        "hz": ("hercio", "hercios"), "w": ("vatio", "vatios"), "kw": ("kilovatio", "kilovatios"), "bar": ("bares",),
    },
    modes={
        Mode.AUTOMATIC: ("automático", "modo automático", "en automático", "modo auto"),
        Mode.MANUAL: ("modo manual", "marcha", "marcha manual", "en manual"),
        Mode.OFF: ("apagado", "parado", "paro", "parada", "desconectado", "fuera de servicio", "bloqueado",
            "detenido"),
        Mode.TEST: ("prueba", "modo prueba", "ensayo", "modo de prueba", "en prueba"),
    },
    states={
        "running": ("en marcha", "marcha", "funcionando", "en funcionamiento", "motor en marcha"),
        "stopped": ("parado", "detenido", "motor parado", "paro", "apagado"),
        "ready": ("listo", "en espera", "preparado"),
        "starting": ("arrancando", "arranque", "en arranque"),
        "preheat": ("precalentamiento", "precalentando"),
        "cooling down": ("enfriamiento", "enfriando"),
        "on load": ("en carga", "con carga"),
        "warming up": ("calentamiento", "calentando"),
    },
    no_alarm=(
        "ninguno", "ninguna", "ninguna alarma",
        "sin {alarma,alarmas,fallo,fallos,falla,fallas,avería,averías,eventos,avisos}",
        "no hay alarmas", "ningún fallo",
    ),
    true=("sí", "s", "encendido", "conectado", "presente", "cerrado", "verdadero", "activo", "disponible",
    "en marcha"),
    false=(
        "apagado", "desconectado", "ausente", "abierto", "falso", "inactivo", "no disponible", "fallo", "falla",
        "parado",
    ),
    times=(
        "fecha", "hora", "fecha hora", "fecha y hora", "tiempo", "marca de tiempo", "hora {local,utc}",
        "fecha {local,utc}",
        "día hora", "sello de tiempo",
    ),
    elapsed=("tiempo", "tiempo transcurrido", "segundos"),
    sets=(
        "grupo electrógeno", "id grupo", "id de grupo", "nombre del grupo", "grupo", "generador", "id generador",
        "equipo",
        "id equipo", "nombre del equipo", "máquina", "unidad id",
    ),
    names=("parámetro", "variable", "magnitud", "canal", "señal", "punto de medida", "nombre", "descripción"),
    values=("valor", "valor medido", "lectura"),
    unit_words=("unidad", "unidades", "unidad de medida"),
    engine=("motor",),
    generator=("generador", "grupo", "grupo electrógeno"),
    months=(
        ("enero",), ("febrero",), ("marzo",), ("abril",), ("mayo",), ("junio",), ("julio",), ("agosto",),
        ("septiembre", "setiembre"), ("octubre",), ("noviembre",), ("diciembre",),
    ),
)  # fmt: skip
