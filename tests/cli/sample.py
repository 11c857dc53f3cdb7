"""A job log of two visits and two systems, with one of everything; made up."""

from __future__ import annotations

from assistant.records import (
    Agreement,
    Ask,
    Calculation,
    Concern,
    DuctRun,
    Equipment,
    Event,
    Job,
    JobLog,
    Labour,
    Material,
    Reading,
    Remark,
    Task,
    Verdict,
    Visit,
)

HEAD = Reading(
    "liquid_pressure",
    338.0,
    "psi",
    said="head three thirty eight",
    note="n1",
    start_s=64.2,
    end_s=66.0,
    confidence=0.93,
)
LINE = Reading("liquid_line_temp", 94.5, "degF", said="liquid line ninety four and a half", note="n1", position=30)

JOB_LOG = JobLog(
    job=Job("print-shop", "print shop on the hill"),
    visits=(Visit("2026-05-12", ("n1", "n2")), Visit("2026-05-20", ("n3",))),
    equipment=(
        Equipment("main", "R-410A", "txv", 4.0, "split system"),
        Equipment("upstairs", "R-454B", "eev", 2.0),
    ),
    readings=(
        HEAD,
        LINE,
        Reading(
            "subcooling", 10.0, "delta_degF", "target", said="wants ten degrees of subcool", note="n1", position=60
        ),
        Reading("return_airflow", 1200.0, "cfm", said="hood adds up to twelve hundred", note="n2", status="superseded"),
        Reading(
            "suction_pressure",
            1180.0,
            "psi",
            system="upstairs",
            said="suction eleven eighty",
            note="n3",
            status="doubtful",
            doubt="value_implausible",
            confidence=0.4,
        ),
        Reading("vacuum_level", 390.0, "micron", said="between 380 and 400", note="n3", low=380.0, high=400.0),
    ),
    duct_runs=(DuctRun("return", 1, "round", "flex", (16.0,), 18.0, status="proposed", note="n2"),),
    events=(Event("permit", "gas", "posted", "2026-05-12T07:50", note="n1"),),
    tasks=(
        Task("recheck the charge", waits_on="the return", origin="inferred"),
        Task("call the owner", due="2026-05-15", status="done", note="n2"),
    ),
    agreements=(Agreement("one more 16 inch return", price=1150.0, status="pending", note="n2"),),
    materials=(Material("16 inch flex duct", 18, "ft", note="n2"),),
    labour=(Labour(hours=3.5, what="return duct", note="n2"),),
    calculations=(
        Calculation("subcooling", "main", 9.71, "delta_degF", 1.2, (HEAD, LINE), "bubble point less line", "CoolProp"),
    ),
    verdicts=(
        Verdict("airflow", "main", "low", "1200 cfm on 4 ton is 300 cfm a ton, and 350 is the least", 300, 400),
        Verdict("charge", "main", "provisional", "the air is short", 9.7, 10, 3, finding="in_range"),
        Verdict("charge", "upstairs", "unknown", "no liquid pressure heard yet", needs=("liquid_pressure",)),
    ),
    concerns=(
        Concern(
            "smoke_alarm_risk", "main", "stop", "First fire smokes.", (), "Nobody in the building; open the windows."
        ),
        Concern("airflow_low", "main", "attention", "The air is short.", ("return airflow 1200 cfm",)),
        Concern("refrigerant_flammable", "upstairs", "info", "R-454B burns.", (), "No flame near it."),
    ),
    asks=(Ask("liquid_pressure", "What is the liquid pressure upstairs?", "upstairs"),),
    remarks=(Remark("the owner has a parrot", "n3"),),
)
