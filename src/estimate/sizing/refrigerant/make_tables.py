#!/usr/bin/env python3
"""Writes the property tables of this folder (table_*.rs) from CoolProp's equations of state.

Exact command, in this folder:

    python3 -m venv venv && venv/bin/pip install CoolProp==8.0.0 && venv/bin/python make_tables.py

Saturation, every 1 K: p, density, enthalpy and viscosity of the liquid on the bubble line (Q = 0) and of
the vapour on the dew line (Q = 1). Suction gas, every 1 K of dew temperature: density, enthalpy and
viscosity at the dew pressure, 15 K and 30 K above the dew temperature.

Viscosity of blends: CoolProp's own value for the liquid of a blend is far too high when cold, so it
comes from the components, each saturated at the same temperature, by mole fractions x:
liquid  ln mu = sum x_i ln mu_i;  vapour  Wilke (1950), J. Chem. Phys. 18, 517.
In superheated gas each component is taken at the gas temperature and at the density of its own vapour
saturated at the dew temperature, so that the rule meets the saturated one at no superheat.
"""

import math
import subprocess

from CoolProp.CoolProp import PropsSI, get_global_param_string

SUCTION_DEW_C = range(-30, 31)
SUPERHEATS_K = (15, 30)

# file, CoolProp name, highest saturation temperature in C, mass composition of a blend.
# The upper ends keep 5 K or more below the critical point, where a 1 K straight line is no longer good
# enough; for the blends with R-125 (critical at 66 C) its own saturation line ends the viscosity rule.
FLUIDS = [
    ("r134a", "R134a", 70, None),
    ("r513a", "R513A.mix", 70, {"R1234yf": 56.0, "R134a": 44.0}),
    ("r448a", "R448A.mix", 62, {"R32": 26.0, "R125": 26.0, "R1234yf": 20.0, "R134a": 21.0, "R1234ze(E)": 7.0}),
    ("r449a", "R449A.mix", 62, {"R32": 24.3, "R125": 24.7, "R1234yf": 25.3, "R134a": 25.7}),
    ("r404a", "R404A", 65, None),
    ("r290", "R290", 70, None),
]


def mole_fractions(by_mass):
    moles = {name: share / PropsSI("M", name) for name, share in by_mass.items()}
    total = sum(moles.values())
    return {name: n / total for name, n in moles.items()}


def blend_liquid_viscosity(fractions, t_k):
    return math.exp(sum(x * math.log(PropsSI("V", "T", t_k, "Q", 0, name)) for name, x in fractions.items()))


def blend_vapour_viscosity(fractions, t_dew_k, superheat_k=0):
    density = {name: PropsSI("D", "T", t_dew_k, "Q", 1, name) for name in fractions}
    mu = {name: PropsSI("V", "T", t_dew_k + superheat_k, "D", density[name], name) for name in fractions}
    mass = {name: PropsSI("M", name) for name in fractions}

    def weight(i, j):
        ratio = 1 + math.sqrt(mu[i] / mu[j]) * (mass[j] / mass[i]) ** 0.25
        return ratio**2 / math.sqrt(8 * (1 + mass[i] / mass[j]))

    return sum(
        x * mu[i] / sum(y * weight(i, j) for j, y in fractions.items()) for i, x in fractions.items()
    )


def saturation_row(fluid, fractions, t_c):
    t = t_c + 273.15
    row = []
    for quality in (0, 1):
        row += [PropsSI(key, "T", t, "Q", quality, fluid) for key in ("P", "D", "H")]
        if fractions is None:
            row.append(PropsSI("V", "T", t, "Q", quality, fluid))
        else:
            rule = blend_vapour_viscosity if quality else blend_liquid_viscosity
            row.append(rule(fractions, t))
    return row


def suction_row(fluid, fractions, t_dew_c):
    p = PropsSI("P", "T", t_dew_c + 273.15, "Q", 1, fluid)
    row = []
    for superheat in SUPERHEATS_K:
        t = t_dew_c + 273.15 + superheat
        row += [PropsSI(key, "T|gas", t, "P", p, fluid) for key in ("D", "H")]
        if fractions is None:
            row.append(PropsSI("V", "T|gas", t, "P", p, fluid))
        else:
            row.append(blend_vapour_viscosity(fractions, t - superheat, superheat))
    return row


def literal(value):
    if not math.isfinite(value) or value <= 0:
        raise ValueError(f"not a property: {value}")
    text = f"{value:.6e}"
    mantissa, exponent = text.split("e")
    return f"{mantissa}e{int(exponent)}"


def write(name, fluid, highest_c, by_mass):
    fractions = mole_fractions(by_mass) if by_mass else None
    saturation = [saturation_row(fluid, fractions, t) for t in range(-30, highest_c + 1)]
    suction = [suction_row(fluid, fractions, t) for t in SUCTION_DEW_C]
    version = get_global_param_string("version")
    lines = [
        f"//! Written by make_tables.py with CoolProp {version}, fluid `{fluid}`; not edited by hand.",
        "",
        "/// From -30 C, every 1 K: p_bubble Pa, liquid kg/m3, J/kg, Pa s; p_dew Pa, vapour kg/m3, J/kg, Pa s.",
        "#[rustfmt::skip]",
        f"pub(super) static SATURATION: [[f64; 8]; {len(saturation)}] = [",
        *(f"    [{', '.join(map(literal, row))}]," for row in saturation),
        "];",
        "",
        "/// From -30 C dew, every 1 K: kg/m3, J/kg, Pa s at 15 K superheat, then the same at 30 K.",
        "#[rustfmt::skip]",
        f"pub(super) static SUCTION: [[f64; 6]; {len(suction)}] = [",
        *(f"    [{', '.join(map(literal, row))}]," for row in suction),
        "];",
    ]
    path = f"table_{name}.rs"
    with open(path, "w", encoding="utf-8") as out:
        out.write("\n".join(lines) + "\n")
    subprocess.run(["rustfmt", "--edition", "2024", path], check=True)


if __name__ == "__main__":
    for entry in FLUIDS:
        write(*entry)
