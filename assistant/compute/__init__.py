"""From readings to calculations: pure functions, one file for each trade word."""

from assistant.compute.instruments import Instruments
from assistant.compute.work_out import work_out

__all__ = ["Instruments", "work_out"]
