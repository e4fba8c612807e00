/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The table of dimensions. */
#include "units.h"

/* One row makes a dimension: add a name to kp_dimension and a row here, and it can be read and shown. */
static const kp_dimension_row dimension_rows[KP_DIM_COUNT] = {
    [KP_DIM_NONE] = {"plain number", {0, 0, 0, 0}, "", "", "", "", "a plain number or %", "0.7"},
    [KP_DIM_LENGTH] = {"length", {1, 0, 0, 0}, "m", "m", "mm", "in", "mm, cm, m, um, in, thou or mil", "40 mm"},
    [KP_DIM_AREA] = {"area", {2, 0, 0, 0}, "m2", "m2", "mm2", "in2", "mm2, cm2, m2 or in2", "240 mm2"},
    [KP_DIM_VOLUME] = {"volume", {3, 0, 0, 0}, "m3", "m3", "cm3", "in3", "cm3, cc, mL, L, m3 or in3", "350 cm3"},
    [KP_DIM_SPEED] =
        {"speed", {1, 0, -1, 0}, "m/s", "m_s", "m/s", "in/s", "m/s, mm/s, in/s, ft/s, km/h or mph", "0.25 m/s"},
    [KP_DIM_FORCE] = {"force", {1, 1, -2, 0}, "N", "N", "N", "lbf", "N, kN or lbf", "60 N"},
    [KP_DIM_PRESSURE] = {"pressure", {-1, 1, -2, 0}, "Pa", "Pa", "bar", "psi", "bar, MPa, kPa, Pa or psi", "12 bar"},
    [KP_DIM_GAS_PRESSURE] = {"gas pressure",
                             {-1, 1, -2, 0},
                             "Pa",
                             "Pa",
                             "bar",
                             "psi",
                             "bar, MPa, kPa, Pa or psi with the word gauge or absolute",
                             "14 bar gauge"},
    [KP_DIM_TEMPERATURE] = {"temperature", {0, 0, 0, 1}, "K", "K", "degC", "degF", "degC, degF or K", "40 degC"},
    [KP_DIM_TEMPERATURE_DIFFERENCE] = {"temperature difference", {0, 0, 0, 1}, "K", "K", "K", "K", "K", "60 K"},
    [KP_DIM_KINEMATIC_VISCOSITY] =
        {"kinematic viscosity", {2, 0, -1, 0}, "m2/s", "m2_s", "mm2/s", "mm2/s", "mm2/s, cSt or m2/s", "15 mm2/s"},
    [KP_DIM_DENSITY] =
        {"density", {-3, 1, 0, 0}, "kg/m3", "kg_m3", "kg/m3", "lb/ft3", "kg/m3, g/cm3, kg/L or lb/ft3", "860 kg/m3"},
    [KP_DIM_FLOW] =
        {"flow", {3, 0, -1, 0}, "m3/s", "m3_s", "L/min", "in3/s", "L/min, cm3/s, m3/s or in3/s", "12 L/min"},
    [KP_DIM_STIFFNESS] =
        {"stiffness", {0, 1, -2, 0}, "N/m", "N_m", "N/mm", "lbf/in", "N/mm, N/m, kN/m or lbf/in", "45 N/mm"},
    [KP_DIM_DAMPING] =
        {"damping", {0, 1, -1, 0}, "N s/m", "N_s_m", "N s/m", "lbf s/in", "N s/m, N s/mm or lbf s/in", "2500 N s/m"},
    [KP_DIM_MASS] = {"mass", {0, 1, 0, 0}, "kg", "kg", "kg", "lb", "kg, g, t or lb", "450 kg"},
    [KP_DIM_TIME] = {"time", {0, 0, 1, 0}, "s", "s", "s", "s", "s, ms, min or h", "0.5 s"},
    [KP_DIM_FREQUENCY] = {"frequency", {0, 0, -1, 0}, "Hz", "Hz", "Hz", "Hz", "Hz, kHz or 1/min", "1.6 Hz"},
    [KP_DIM_EXPANSION] =
        {"thermal expansion", {0, 0, 0, -1}, "1/K", "1_K", "1/K", "1/degF", "1/K, 1/degC or 1/degF", "8.3e-4 1/K"},
    [KP_DIM_STRESS] = {"stress", {-1, 1, -2, 0}, "Pa", "Pa", "MPa", "ksi", "MPa, Pa, psi or ksi", "1200 MPa"},
};

const kp_dimension_row *kp_dimension_row_of(kp_dimension dimension)
{
    if ((int)dimension < 0 || dimension >= KP_DIM_COUNT) {
        return &dimension_rows[KP_DIM_NONE];
    }
    return &dimension_rows[dimension];
}

const char *kp_dimension_name(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->name;
}

const char *kp_dimension_example(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->example;
}

const char *kp_unit_column_suffix(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->suffix;
}

const char *kp_dimension_units(kp_dimension dimension)
{
    return kp_dimension_row_of(dimension)->accepted;
}
