/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What `band` and `compare --band` share. */
#ifndef KP_CLI_BAND_H
#define KP_CLI_BAND_H

#include "cli/run.h"
#include "kneepoint/study.h"

/** Options of a band: speeds [KP_MAX_LIST] comes back rising, each once, and must live as long as band. */
void kp_cli_band_options(const kp_options *options, double *speeds, kp_band_options *band);
/** Causes with spread and standing, one a line; how it was sampled, and what that costs. */
void kp_band_say_causes(kp_lines *lines, const kp_band *band);
void kp_band_say_method(kp_lines *lines, const kp_band *band, const kp_band_options *used);
/** A force's distance from the nominal one, in per cent of the nominal damping. */
double kp_band_percent(const kp_band_point *point, double force, double gas_force);

/** figure_band.c */
kp_status kp_figure_of_band(kp_output *output, const kp_run *run, const kp_band *band, kp_error *error);

/** compare_band.c: bands of all files, and where each differs from the first by more than the noise. interrupted comes
    back true when fewer builds than asked were sampled. */
kp_status kp_compare_bands(kp_output *output, const kp_run *runs, size_t count, bool *interrupted, kp_error *error);

#endif
