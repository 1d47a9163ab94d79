"""Where values come from: the one list of sources, named by key or by title where a value or a formula stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

COMMON_PRACTICE = "common practice, no source"


class Evidence(StrEnum):
    """How well a value is attested."""

    PUBLISHED = "published"
    SECONDARY = "quoted elsewhere"
    MEMORY = "from memory, not verified"
    COMPUTED = "computed"
    PRACTICE = COMMON_PRACTICE


@dataclass(frozen=True)
class Source:
    """A source of a value; ``str()`` cites it on one line with its evidence."""

    title: str
    edition: str
    clause: str
    evidence: Evidence

    def __str__(self) -> str:
        parts = [part for part in (self.title, self.edition, self.clause) if part]
        return f"{', '.join(parts)} ({self.evidence})" if parts else str(self.evidence)


SOURCES: Mapping[str, Source] = MappingProxyType(
    {
        "practice": Source("", "", "", Evidence.PRACTICE),
        "nominal": Source("nominal voltage usual for the chemistry", "", "", Evidence.MEMORY),
        "cell_specification": Source("product specification of an 18650 cell of 2.5 Ah", "", "8-1", Evidence.PUBLISHED),
        "jeita": Source(
            "A Guide to the Safe Use of Secondary Lithium Ion Batteries in Notebook-type Personal Computers (JEITA/BAJ)",
            "2007-04-20",
            "",
            Evidence.SECONDARY,
        ),
        "usfa": Source("US Fire Administration, lithium-ion battery safety", "", "charging", Evidence.PUBLISHED),
        "lmo_class": Source("taken as the 4.2 V class of LCO, NMC and NCA", "", "", Evidence.MEMORY),
        "lfp_guide": Source("a cell maker's guide to lithium iron phosphate cells", "", "", Evidence.SECONDARY),
        "lfp_specification": Source(
            "product specification of a small lithium iron phosphate cell", "", "", Evidence.PUBLISHED
        ),
        "lfp_reject": Source(
            "the precharge threshold taken as the line, for want of another", "", "", Evidence.PRACTICE
        ),
        "lto_sheet": Source("cell data sheet, lithium titanate", "", "", Evidence.PUBLISHED),
        "lto_limits": Source("limits usual for lithium titanate, lower end of 2.7 to 2.8 V", "", "", Evidence.MEMORY),
        "storage_charge": Source("30 to 50 % state of charge", "", "", Evidence.PRACTICE),
        "lco_curve": Source(
            "30 to 50 % state of charge by the curve in IEEE Trans. Energy Convers. 21 (2006) 504",
            "",
            "",
            Evidence.COMPUTED,
        ),
        "nickel_charge": Source("standard charge of nickel cells, as makers print it", "", "", Evidence.MEMORY),
        "no_charge_beyond": Source("no charge where a sheet names no current", "", "", Evidence.PRACTICE),
        "piecewise_curves": Source(
            "piecewise linear open-circuit voltage, charge and discharge at C/32 or C/20 averaged, break points of the "
            "published data set",
            "IEEE Trans. Instrum. Meas. 2025",
            "",
            Evidence.PUBLISHED,
        ),
        "measured_curve_18650": Source(
            "open data set: rest voltage of a 3 Ah 18650 cell, C/20 charge and discharge averaged, 24 h rest",
            "",
            "101-point array, every tenth point",
            Evidence.PUBLISHED,
        ),
        "nmc811_model": Source(
            "J. Electrochem. Soc. 167 (2020) 080534",
            "",
            "parameter set of a 5 Ah 21700 cell, solved for 2.5 to 4.2 V",
            Evidence.COMPUTED,
        ),
        "lco_formula": Source(
            "IEEE Trans. Energy Convers. 21 (2006) 504", "", "equation of the open-circuit voltage", Evidence.SECONDARY
        ),
        "curves_differ": Source(
            "largest distance of published open-circuit curves of a chemistry from those used, 25 to 90 % of charge",
            "",
            "",
            Evidence.COMPUTED,
        ),
        "rest": Source("rest of 1 h before a voltage counts, as in DOE/ID-11069 (2003)", "", "", Evidence.SECONDARY),
        "self_discharge": Source("trade articles on self-discharge measurement", "", "delta-OCV", Evidence.PUBLISHED),
        "sphere": Source(
            "The Mathematics of Diffusion",
            "2nd ed. 1975",
            "6.3.4 constant flux at the surface of a sphere",
            Evidence.MEMORY,
        ),
        "nimh_capacity_test": Source("IEC 61951-2", "", "capacity test to 1.0 V per cell", Evidence.SECONDARY),
        "nicd_capacity_test": Source("IEC 61951-1", "", "capacity test to 1.0 V per cell", Evidence.MEMORY),
        "currency_digits": Source(
            "Unicode CLDR, digits of currencies", "as Babel carries it", "fractions, after ISO 4217", Evidence.PUBLISHED
        ),
        "bdf": Source(
            "Battery Data Format", "vocabulary 1.3.0, Battery Data Alliance", "names, units, rules", Evidence.PUBLISHED
        ),
        # Laws and definitions: first principles, named in the references of the functions that use them.
        "ohm": Source("Ohm's law", "", "", Evidence.COMPUTED),
        "joule": Source("Joule's law", "", "", Evidence.COMPUTED),
        "kirchhoff": Source("Kirchhoff's laws", "", "", Evidence.COMPUTED),
        "heat_conduction": Source("Fourier's law of heat conduction", "", "", Evidence.COMPUTED),
        "heat_transfer": Source("Newton's law of cooling", "", "", Evidence.COMPUTED),
        # Conductors.
        "astm_b258": Source("ASTM B258", "", "definition of the gauge", Evidence.SECONDARY),
        "nbs_100": Source("NBS Handbook 100, Copper Wire Tables", "1966", "", Evidence.SECONDARY),
        "iec_60028": Source("IEC 60028", "1925", "resistivity of annealed copper", Evidence.SECONDARY),
        "iec_60228": Source("IEC 60228", "", "nominal sections", Evidence.MEMORY),
        "iec_60287": Source("IEC 60287-1-1", "", "table of conductor constants", Evidence.SECONDARY),
        "iec_60949": Source("IEC 60949", "1988", "adiabatic short-circuit current", Evidence.SECONDARY),
        "iec_60949_steel": Source("IEC 60949", "1988", "reciprocal of the coefficient of steel", Evidence.MEMORY),
        "onderdonk": Source("Onderdonk's equation", "as quoted with its history by Brooks", "", Evidence.SECONDARY),
        "preece": Source("Preece's fusing currents", "table of constants by Ness Engineering", "", Evidence.PUBLISHED),
        "incropera": Source(
            "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer", "", "table A.1", Evidence.PUBLISHED
        ),
        "incropera_nickel": Source(
            "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer", "", "table A.1", Evidence.MEMORY
        ),
        "incropera_convection": Source(
            "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer", "", "table 1.1", Evidence.MEMORY
        ),
        "nickel_sheet": Source("data sheet of nickel of 99.98 %", "", "", Evidence.PUBLISHED),
        "smc_061": Source("Special Metals SMC-061, Nickel 200 and 201", "", "table 3", Evidence.PUBLISHED),
        "smc_061_rise": Source(
            "Special Metals SMC-061, Nickel 200 and 201", "", "table 3, from 20 to 93 °C", Evidence.COMPUTED
        ),
        "smc_061_memory": Source("Special Metals SMC-061, Nickel 200 and 201", "", "", Evidence.MEMORY),
        "sae_1010": Source(
            "data sheets of steel SAE 1010; the plating is too thin to count", "", "", Evidence.PUBLISHED
        ),
        "sae_1010_memory": Source("steel SAE 1010", "", "", Evidence.MEMORY),
        "brand_2015": Source("Brand et al., J. Energy Storage 1 (2015) 7-14", "", "", Evidence.MEMORY),
        "copper_melting": Source("melting point of copper in Onderdonk's equation", "", "", Evidence.SECONDARY),
        # Mathematics, and what follows from definitions alone.
        "arithmetic": Source("Arithmetic", "", "", Evidence.COMPUTED),
        "geometry": Source("Geometry", "", "", Evidence.COMPUTED),
        "derived": Source("Derived here", "", "", Evidence.COMPUTED),
        "differencing": Source(
            "Performance ratios for the differencing method",
            "W. Michiels et al., STACS 2003, LNCS 2607, 583-595; Discrete Optimization 9 (2012) 1-16",
            "",
            Evidence.MEMORY,
        ),
        "tabu_search": Source(
            "Tabu search - Part I", "F. Glover, ORSA Journal on Computing 1 (1989) 190-206", "", Evidence.MEMORY
        ),
        "preferred_values": Source("IEC 60063", "", "E12 series of resistors", Evidence.MEMORY),
        "transport_problem": Source(
            "Linear Programming and Extensions", "G. B. Dantzig, Princeton 1963", "transport problems", Evidence.MEMORY
        ),
        "order_statistics": Source(
            "Order Statistics", "H. A. David, H. N. Nagaraja, 3rd ed., 2003", "section 2.1", Evidence.MEMORY
        ),
        # Units, and tests of cells and packs.
        "si_brochure": Source("SI Brochure", "9th edition", "tables 7 and 8", Evidence.MEMORY),
        # The weaker evidence of the two: 7.7.3 was read as quoted elsewhere, the rest is from memory.
        "iec_61960_3": Source("IEC 61960-3", "2017", "7.7.3, DC resistance; reference test current", Evidence.MEMORY),
        "un_38_3": Source("UN Manual of Tests and Criteria", "", "38.3.2.2 (b)", Evidence.SECONDARY),
        # Transport and waste of removed cells.
        "transport_guide": Source("industry guide to ADR, IMDG Code and IATA rules", "2023", "", Evidence.SECONDARY),
        "sodium_sea_air": Source("IMDG Code, special provision 963; IATA A199", "", "", Evidence.SECONDARY),
        "adr_376": Source("ADR, special provision 376", "2025", "", Evidence.SECONDARY),
        "adr_p908": Source("ADR, packing instruction P908", "2025", "", Evidence.SECONDARY),
        "adr_p909": Source("ADR, special provision 377 and packing instruction P909", "", "", Evidence.PUBLISHED),
        "adr_p909_mark": Source("ADR, packing instruction P909", "", "marking", Evidence.SECONDARY),
        "adr_p911": Source("ADR, special provision 376, packing instruction P911", "2025", "", Evidence.SECONDARY),
        "us_damaged": Source("49 CFR", "", "173.185(f)", Evidence.SECONDARY),
        "phmsa_24_0050": Source("PHMSA interpretation 24-0050", "2 July 2024", "", Evidence.PUBLISHED),
        "terminals_advice": Source("advice of many municipalities and makers", "", "", Evidence.SECONDARY),
        "memory": Source("", "", "", Evidence.MEMORY),
        "list_of_waste": Source("European List of Waste, Decision 2000/532/EC", "", "16 06", Evidence.PUBLISHED),
        "new_waste_codes": Source(
            "Decision (EU) 2025/934 with corrigendum OJ L 2025/90657",
            "in force 9 June 2025",
            "16 06",
            Evidence.SECONDARY,
        ),
        "us_wh": Source("49 CFR 171.8", "", "Wh rating", Evidence.PUBLISHED),
        "us_signs": Source("PHMSA list of signs", "quoted by trade bodies", "", Evidence.SECONDARY),
        "us_small": Source(
            "49 CFR 173.185(c)(1)(i); ADR, special provision 188", "", "20 and 100 Wh", Evidence.SECONDARY
        ),
        "us_middle": Source(
            "49 CFR 173.185(c)(1)(iv)", "quoted 2019, numbering may have moved", "", Evidence.SECONDARY
        ),
        "us_disposal": Source("49 CFR 173.185(d)", "by motor vehicle, for disposal or recycling", "", Evidence.MEMORY),
        "us_small_packages": Source("49 CFR 173.185(c)", "", "30 kg gross", Evidence.MEMORY),
        "us_damaged_letters": Source("49 CFR 173.185(f)(4)", "", "letter height", Evidence.MEMORY),
        "us_sodium": Source("sodium-ion rule proposed by PHMSA", "10 February 2026", "", Evidence.SECONDARY),
        "us_shipping_paper": Source("49 CFR 172.201(e)", "", "", Evidence.MEMORY),
        "us_training": Source("49 CFR 172.704", "", "", Evidence.SECONDARY),
        "us_label": Source("40 CFR 273.14(a)", "", "", Evidence.SECONDARY),
        "us_one_year": Source("40 CFR 273.15", "seen as the parallel 273.35", "", Evidence.PUBLISHED),
        "us_handler": Source("40 CFR 273.9", "", "small quantity handler", Evidence.SECONDARY),
        "us_container": Source("40 CFR 273.13(a)(1)", "2002 edition", "", Evidence.PUBLISHED),
        "us_activities": Source("40 CFR 273.13(a)(2)", "2002 edition", "", Evidence.PUBLISHED),
        "us_other_waste": Source("40 CFR 273.13(a)(3)", "", "", Evidence.MEMORY),
        "us_records": Source("40 CFR 273.19 and 273.39", "", "", Evidence.MEMORY),
        "us_breached": Source("EPA, RCRA Online 14634", "", "", Evidence.PUBLISHED),
        "us_ignitable": Source("notes on EPA memorandum RCRA Online 14957", "24 May 2023", "", Evidence.SECONDARY),
        "us_shred": Source("training notes on 40 CFR part 273", "", "", Evidence.SECONDARY),
        "us_fire_code": Source("WAC 51-54A-0322 (Washington State)", "", "", Evidence.PUBLISHED),
        "phmsa_one_battery": Source("PHMSA interpretation 11-0143", "", "", Evidence.PUBLISHED),
        "phmsa_declared": Source("PHMSA interpretation 22-0113", "", "", Evidence.PUBLISHED),
        "un_one_cell": Source("UN amendment text on batteries of one cell", "2014", "", Evidence.PUBLISHED),
        "un_letters": Source("UN Model Regulations and ADR, 3.3.1", "2014", "letter height", Evidence.PUBLISHED),
        "adr_number_height": Source("ADR, 5.2.1.1", "", "", Evidence.PUBLISHED),
        "adr_battery_mark": Source("ADR, 5.2.1.9", "", "battery mark", Evidence.SECONDARY),
        "adr_label": Source("ADR, label 9A", "", "", Evidence.SECONDARY),
        "adr_sodium": Source("agreement M 354 (BGBl. III 201/2024); ADR 2025", "", "", Evidence.PUBLISHED),
        "adr_636": Source("ADR, special provision 636", "", "333 kg", Evidence.SECONDARY),
        "adr_large_waste": Source("ADR, packing instructions P909(1) and P903", "", "", Evidence.SECONDARY),
        "adr_188": Source("ADR, special provision 188", "", "(b), Wh on the case", Evidence.SECONDARY),
        "adr_papers_further": Source("ADR, 5.4.1.1.3", "", "", Evidence.MEMORY),
        "adr_papers": Source("ADR, 5.4.1.1", "", "order of the entries", Evidence.SECONDARY),
        "air_waste": Source(
            "industry guide to ADR, IMDG Code and IATA rules", "2023", "waste by air", Evidence.SECONDARY
        ),
        "local": Source("left to local codes", "", "", Evidence.PRACTICE),
        "eu_municipal_codes": Source(
            "Decision (EU) 2025/934 with corrigendum OJ L 2025/90657", "", "20 01", Evidence.SECONDARY
        ),
        "eu_old_cadmium": Source("European List of Waste, Decision 2000/532/EC", "", "16 06 02*", Evidence.PUBLISHED),
        "eu_new_cadmium": Source(
            "European List of Waste, Decision 2000/532/EC", "", "16 06 02*, new wording not seen", Evidence.SECONDARY
        ),
        "eu_bavaria": Source("Bavarian environment agency, questions and answers", "", "", Evidence.PUBLISHED),
        "eu_bin": Source("Regulation (EU) 2023/1542", "", "Art. 13(4), Annex VI part B", Evidence.PUBLISHED),
        "eu_chemical_sign": Source("Regulation (EU) 2023/1542", "", "Art. 13(5)", Evidence.PUBLISHED),
        "eu_market": Source("Regulation (EU) 2023/1542", "", "Art. 45", Evidence.PUBLISHED),
        "old_marks": Source("marks of approval on a rebuilt pack", "", "", Evidence.MEMORY),
        "storage_temperature": Source("US Fire Administration, as quoted", "", "40 to 80 °F", Evidence.SECONDARY),
        "insurer": Source("VdS 3103, guidance of insurers", "", "", Evidence.SECONDARY),
        "eu_remanufactured": Source("Regulation (EU) 2023/1542", "", "Art. 3(32)", Evidence.SECONDARY),
        "eu_label": Source("Regulation (EU) 2023/1542", "", "Art. 13(1), Annex VI part A", Evidence.PUBLISHED),
        "eu_removable": Source("Regulation (EU) 2023/1542", "", "Art. 11 and 77", Evidence.PUBLISHED),
        "eu_storage": Source("Regulation (EU) 2023/1542", "", "Annex XII part A", Evidence.PUBLISHED),
        "uk_register": Source("gov.uk hazardous waste guidance", "England", "register", Evidence.PUBLISHED),
        "uk_not_eu": Source("Great Britain and Decision (EU) 2025/934", "", "", Evidence.MEMORY),
        "leap_day": Source("a year from 29 February ends on 28 February", "", "", Evidence.PRACTICE),
        "uk_wm3": Source("UK technical guidance WM3; hazardous waste guidance", "", "", Evidence.SECONDARY),
        # What rules ask.
        "osha_bulletin": Source(
            "OSHA Safety and Health Information Bulletin 06-20-2019", "2019", "signs of damage", Evidence.SECONDARY
        ),
        "iec_63338": Source("IEC 63338", "2024", "4", Evidence.PUBLISHED),
        "nyc_20": Source(
            "New York City Administrative Code",
            "Title 20, Local Law 39 of 2023",
            "cells of used batteries in powered mobility",
            Evidence.MEMORY,
        ),
        "iec_62133_2": Source("IEC 62133-2", "2017", "7.1.2 and Annex A", Evidence.MEMORY),
        "ul_1974": Source("UL 1974", "2nd edition, 2023", "tests as in public summaries", Evidence.SECONDARY),
        "nasa_prc_0009": Source("NASA JSC PRC-0009", "Revision E, 2019", "", Evidence.PUBLISHED),
        "usb_2": Source("USB 2.0", "", "7.2.2, table 7-7", Evidence.SECONDARY),
        "reiter_1987": Source(
            "A theory of diagnosis from first principles",
            "R. Reiter, Artificial Intelligence 32 (1987) 57-95",
            "",
            Evidence.MEMORY,
        ),
        "de_kleer_williams_1987": Source(
            "Diagnosing multiple faults",
            "J. de Kleer, B. C. Williams, Artificial Intelligence 32 (1987) 97-130",
            "",
            Evidence.MEMORY,
        ),
        "kirchhoff_voltage": Source("Kirchhoff's voltage law", "", "", Evidence.COMPUTED),
    }
)
