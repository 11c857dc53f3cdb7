"""Readings and calculations → verdicts, concerns, derived tasks and the questions that are left.

Verdicts are about: charge, airflow, return_duct, supply_duct, static, freeze, superheat, pressure_test, vacuum,
heat, gas_pressure, input_rate, flame, draft, combustion, room_air, capacitor, voltage, voltage_imbalance,
control_voltage and current; at most one of each for a system.
"""

from assistant.judge.diagnosis import Cause
from assistant.judge.weigh import diagnose, weigh

__all__ = ["Cause", "diagnose", "weigh"]
