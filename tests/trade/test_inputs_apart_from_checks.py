"""A publication that checks a curve never feeds that curve: otherwise the check would check nothing."""

import pytest

from farm.trade.eggs import egg_kinds
from farm.trade.general import general
from farm.trade.load import programmes

#: curve -> publications the outside checks hold it against, for these programmes.
CHECKED_BY = [
    ("temp_c", "chicken", {"HRB"}),
    ("temp_c", "turkey", {"UMAINE-N", "HRB"}),
    ("temp_c", "duck", {"RSA", "KAU", "HRB"}),
    ("temp_c", "goose", {"RSA", "FAO154", "HRB"}),
    ("temp_c", "quail", {"IONITA", "HRB"}),
    ("temp_c", "guinea", {"PHUB-G", "HRB"}),
    ("temp_c", "pheasant", {"HRB"}),
    ("area_m2", "chicken", {"NSW-FOWL", "IASRI", "EU1999", "EU2007"}),
    ("area_m2", "turkey", {"BPS2022"}),
    ("area_m2", "duck", {"NSW-DUCK", "KAU"}),
    ("area_m2", "quail", {"IONITA"}),
    ("area_m2", "guinea", {"PHUB-G"}),
    ("feeder_cm", "chicken", {"IASRI", "EU1999", "UMD2021"}),
    ("feeder_cm", "duck", {"DEFRA-DUCK", "UMD2021"}),
    ("drinker_cm", "chicken", {"IASRI", "EU1999"}),
    ("drinker_cm", "duck", {"DEFRA-DUCK"}),
    ("water_per_100_l", "chicken", {"UKY12", "ONT", "PESTI1985", "UTAH2010"}),
    ("lost_share", "chicken", {"KINGSTON1979"}),
    ("lost_share", "turkey", {"CORNELL884"}),
    ("weight_female_g", "chicken", {"NRC1984", "KLING1985"}),
    ("weight_male_g", "chicken", {"NRC1984", "COCKEREL", "PARKS"}),
    ("weight_female_g", "turkey", {"PS-HEN", "ENCYC-T"}),
    ("weight_female_g", "goose", {"LIN2020"}),
    ("weight_female_g", "quail", {"SHARMA2021"}),
    ("feed_eaten_female_kg", "chicken", {"MANITOBA", "NRC1984"}),
    ("feed_eaten_female_kg", "turkey", {"PS-HEN"}),
    ("feed_eaten_female_kg", "quail", {"NG-QUAIL"}),
]


@pytest.mark.parametrize("curve, species, checks", CHECKED_BY)
def test_no_knot_comes_from_a_publication_that_checks_its_curve(curve, species, checks):
    found = [p for p in programmes().values() if p.species == species and curve in p.curves]
    assert found
    for programme in found:
        assert not {knot.source for knot in programme.curves[curve]} & checks, programme.key


def test_no_feed_comes_from_a_publication_that_checks_protein():
    for programme in programmes().values():
        if programme.species in ("chicken", "turkey"):
            assert not {phase.source for phase in programme.feeds} & {"NRC1984", "POTTER1981"}, programme.key


#: The guides, papers and lists that tests/outside/test_incubation.py holds eggs against.
EGG_CHECKS = {
    *("VT-INC", "PSU-4H", "NCSU-Q", "RAISING", "POULTRYPRODUCER"),
    *("KAZ", "TURK1943", "NG-QUAIL", "WPSJ-STORE", "USPS-CHICK"),
}


def test_incubation_days_do_not_come_from_the_guides_that_check_them():
    assert {p.rules["incubation_days"].source for p in programmes().values()} & EGG_CHECKS == set()


def test_no_figure_of_eggs_comes_from_a_publication_that_checks_it():
    figures = {figure.source for figure in general()["incubation"].values()}
    assert (
        figures | {source for kind in egg_kinds().values() for source in kind.sources.values()}
    ) & EGG_CHECKS == set()


def test_no_figure_of_light_or_lay_comes_from_a_publication_that_checks_it():
    groups = ("light", "light_lay", "light_turkey", "light_natural", "point_of_lay")
    figures = {figure.source for group in groups for figure in general()[group].values()}
    assert (
        figures & {"ENCYC-L", "MICH2019", "NT2010", "USNO", "LUTHER", "BC2014", "KLING1985", "GK-IND"}
        == set()
    )
