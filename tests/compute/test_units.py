"""Spoken units come in through pint, also while another process is writing what pint keeps on the disk."""

import pint
import pytest

from assistant import units


@pytest.mark.parametrize("fault", [EOFError("Ran out of input"), OSError("read-only")], ids=str)
def test_a_kept_registry_that_cannot_be_read_is_done_without(monkeypatch, fault):
    plain = pint.UnitRegistry

    def half_written(cache_folder=None):
        if cache_folder:
            raise fault
        return plain()

    monkeypatch.setattr(pint, "UnitRegistry", half_written)
    units._registry.cache_clear()
    try:
        assert units._registry()("100 kPa").to("psi").magnitude == pytest.approx(14.5038, rel=1e-5)
    finally:
        monkeypatch.undo()
        units._registry.cache_clear()


@pytest.mark.parametrize(
    ("pounds", "shown"), [(5.125, "5 lb 2 oz"), (0.5, "8 oz"), (-62.375, "-62 lb 6 oz"), (3.0, None)]
)
def test_a_weight_is_shown_as_on_a_scale(pounds, shown):
    assert units.pounds_and_ounces(pounds) == shown
