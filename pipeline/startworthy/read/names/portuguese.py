"""Portuguese trade words, of Portugal and of Brazil. Common practice, no source; quantities as IEC 60050 names them.

"Carga" and "corrente de carga" mean the load and the charging of a battery, "óleo" the lubricant and diesel fuel:
they are in no list, and "óleo" stands beside a unit of pressure only.
"""

from __future__ import annotations

from startworthy.read.names.language import Language
from startworthy.signals import Mode, Quantity

_SET = "{gerador,grupo,grupo gerador,gmg,gen}"
_FUEL = "{combustível,diesel,gasóleo,óleo diesel,óleo combustível}"
_TANK = "{tanque,depósito,reservatório,tanque de combustível,depósito de combustível}"
_T = "{temperatura,temp}"
_V = "{tensão,voltagem}"

PORTUGUESE = Language(
    signals={
        "voltage_v": ("tensão", "voltagem", f"{_V} {_SET}", f"{_V} {{de saída,saída,de linha}}"),
        "current_a": ("corrente", f"corrente {_SET}", "corrente {de saída,saída}", "intensidade"),
        "frequency_hz": ("frequência", "freq", f"{{frequência,freq}} {_SET}",
            "frequência {do alternador,de saída,saída}"),
        "speed_rpm": (
            "rotação", "velocidade", "rotação {do motor,motor}", "rotações", "rotações {do motor,motor}",
            "velocidade {do motor,motor,de rotação}", "regime {do motor,motor,de rotação}", f"rotação {_SET}",
        ),
        "power_kw": (
            "potência", "potência {ativa,activa,ativa total,activa total,total,real,de saída}",
            f"potência {{,ativa ,activa }}{_SET}",
        ),
        "load_fraction": (
            f"carga {_SET}", "carga {do motor,motor}", "{percentual,percentagem,nível,fator,factor} de carga",
            "carga relativa",
        ),
        "oil_kpa": (
            "{pressão,press} {óleo,óleo do motor,óleo lubrificante}",
        ),
        "coolant_c": (
            f"{_T} {{água,água do motor,água de arrefecimento,líquido de arrefecimento,líquido de refrigeração}}",
            f"{_T} {{arrefecimento,refrigerante,motor,cabeçote}}",
        ),
        "oil_c": (f"{_T} {{óleo lubrificante,do óleo lubrificante,óleo,do óleo,óleo do motor,do óleo do motor}}",),
        "ambient_c": (f"{_T} {{ambiente,exterior,externa,do ar,ar,ar ambiente,ar exterior,amb,ext,da sala,sala}}",),
        "enclosure_c": (f"{_T} {{cabine,da cabine,cabina,da cabina,carenagem,da carenagem,canópia,da canópia}}",),
        "battery_v": (
            (f"{_V} {{bateria,da bateria,de bateria,baterias,das baterias,bat,bateria de partida,da bateria de partida,"
             "bateria de arranque,da bateria de arranque}"),
            "bateria", "bateria de {partida,arranque}", f"{_V} contínua",
        ),
        "charger_v": (
            f"{_V} {{carregador,do carregador,carregador de bateria,do carregador de bateria,carregador de baterias}}",
            "carregador{, de bateria, de baterias}",
        ),
        "charge_alternator_v": (f"{_V} {{alternador de carga,do alternador de carga}}", "alternador de carga"),
        "charger_a": ("corrente {carregador,do carregador,carregador de bateria,bateria,da bateria}",),
        "fuel_fraction": (
            f"{{nível,niv}} {_FUEL}", f"{{nível,niv}} {_TANK}", "combustível", "{tanque,depósito} de combustível",
            "percentual de combustível", "percentagem de combustível",
        ),
        "fuel_l": (f"{{volume,quantidade}} {_FUEL}", f"{{volume,conteúdo}} {_TANK}", "combustível restante"),
        "fuel_flow_lph": (f"{{consumo,caudal,vazão}} {_FUEL}", "consumo {instantâneo,horário} de combustível"),
        "hour_meter_h": (
            "horas {de funcionamento,de operação,do motor,de serviço,de trabalho,trabalhadas,totais}",
            "horas {do grupo,de marcha}",
            "horas", "horímetro", "contador de horas", "conta horas", "contador horas",
            "tempo de {funcionamento,operação}", "total de horas",
        ),
        "starts_counter": (
            "partidas", "arranques", "{número,nº,n°,nro,núm,contador,total} {de ,}{partidas,arranques}",
            "partidas do motor", "arranques do motor",
        ),
        "mains_present": (
            "rede {presente,ok,disponível,normal}", "presença {de rede,da rede,rede}",
            "estado {de rede,da rede,rede}",
            "status {da rede,rede}",
        ),
        "mains_v": (f"{_V} {{de rede,da rede,rede}}{{, l1, l1 n}}",),
        "mains_hz": ("{frequência,freq} {de rede,da rede,rede}",),
        "on_load": (
            "{disjuntor,contator,contactor} {gerador,do gerador,grupo,do grupo,de grupo,do grupo gerador}",
            "{disjuntor,contator,contactor} {gerador,do gerador} fechado", "grupo em carga", "gerador em carga",
        ),
        "mode": (
            "modo", "modo {de operação,de funcionamento,operação,funcionamento}", "seletor", "seletor de modo",
            "selector de modo", "chave seletora", "posição {do seletor,do selector,seletor,da chave}",
        ),
        "state": (
            "estado", "estado {do motor,motor,do grupo,grupo,do gerador,gerador,de funcionamento}",
            "status {do motor,do gerador,do grupo}", "situação",
        ),
        "alarm": (
            "alarme{,s}", "falha{,s}", "avaria{,s}", "alarme ativo", "alarme activo", "alarmes ativos",
            "alarmes activos",
            "evento{,s}", "mensagem", "mensagens", "mensagem de {alarme,falha}", "aviso{,s}", "advertência{,s}",
            "texto do alarme",
        ),
    },
    by_unit={
        Quantity.PRESSURE: {"oil_kpa": ("óleo", "óleo do motor", "óleo lubrificante")},
        Quantity.TEMPERATURE: {
            "oil_c": ("óleo do motor", "óleo lubrificante"), "coolant_c": ("arrefecimento", "água do motor"),
        },
        Quantity.VOLTAGE: {"mains_v": ("rede",), "voltage_v": ("gerador", "grupo gerador")},
        Quantity.FREQUENCY: {"mains_hz": ("rede",), "frequency_hz": ("gerador", "grupo gerador")},
        Quantity.CURRENT: {"current_a": ("gerador", "grupo gerador"), "charger_a": ("carregador",
            "carregador de bateria")},
        Quantity.POWER: {"power_kw": ("carga", "gerador", "grupo gerador")},
        Quantity.FRACTION: {"fuel_fraction": ("tanque", "depósito")},
        Quantity.VOLUME: {"fuel_l": ("tanque", "depósito")},
    },
    volts=("tensão", "voltagem", f"{_V} {{gerador,do gerador,grupo,do grupo,de fase,de linha}}"),
    amps=("corrente", "corrente {gerador,do gerador,grupo,do grupo,de fase,de linha}"),
    phases=("fase",),
    units={
        "h": ("hora", "horas"), "min": ("minuto", "minutos"), "s": ("seg", "segundo", "segundos"),
        "rpm": ("rot/min", "r.p.m.", "rotações/min"), "l": ("litro", "litros"),
        "l/h": ("litros/hora", "l/hora", "litros/h"), "gal": ("galão", "galões"), "gal/h": ("galões/hora",),
        "%": ("por cento", "porcento"), "cel": ("graus c", "graus celsius", "graus centígrados"),
        "degf": ("graus f", "graus fahrenheit"), "bar": ("bares",),
    },
    modes={
        Mode.AUTOMATIC: ("automático", "modo automático", "em automático", "modo auto"),
        Mode.MANUAL: ("modo manual", "ligado", "em manual", "partida manual"),
        Mode.OFF: ("desligado", "parado", "parada", "fora de serviço", "bloqueado"),
        Mode.TEST: ("teste", "modo teste", "modo de teste", "ensaio", "em teste"),
    },
    states={
        "running": ("em funcionamento", "funcionando", "em marcha", "em operação", "ligado",
            "motor em funcionamento"),
        "stopped": ("parado", "desligado", "motor parado"),
        "ready": ("pronto", "em espera"),
        "starting": ("partida", "arranque", "em partida", "arrancando", "em arranque", "partindo"),
        "preheat": ("pré-aquecimento", "preaquecimento", "pré aquecimento"),
        "cooling down": ("resfriamento", "arrefecimento", "arrefecendo"),
        "on load": ("em carga", "com carga"),
        "warming up": ("aquecimento", "aquecendo"),
    },
    no_alarm=(
        "nenhum", "nenhuma", "nenhum alarme", "nenhuma falha",
        "sem {alarme,alarmes,falha,falhas,avaria,avarias,eventos,avisos}",
        "não há alarmes", "não",
    ),
    true=(
        "sim", "s", "ligado", "conectado", "presente", "fechado", "verdadeiro", "ativo", "activo", "disponível",
    ),
    false=(
        "não", "desligado", "desconectado", "ausente", "aberto", "falso", "inativo", "inactivo", "indisponível",
        "falha",
    ),
    times=(
        "data", "hora", "data hora", "data e hora", "tempo", "horário", "hora {local,utc}", "data {local,utc}",
        "marca temporal", "marca de tempo", "carimbo de data hora", "dia hora",
    ),
    elapsed=("tempo", "tempo decorrido", "segundos"),
    sets=(
        "grupo gerador", "id grupo", "id do grupo", "nome do grupo", "grupo", "gerador", "id gerador",
        "id do gerador",
        "equipamento", "id equipamento", "id do equipamento", "máquina",
    ),
    names=("parâmetro", "variável", "grandeza", "canal", "sinal", "ponto de medição", "nome", "descrição"),
    values=("valor", "valor medido", "leitura"),
    unit_words=("unidade", "unidades", "unidade de medida"),
    engine=("motor",),
    generator=("gerador", "grupo", "grupo gerador"),
    months=(
        ("janeiro",), ("fevereiro",), ("março",), ("abril",), ("maio",), ("junho",), ("julho",), ("agosto",),
        ("setembro",),
        ("outubro",), ("novembro",), ("dezembro",),
    ),
)  # fmt: skip
