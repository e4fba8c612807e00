/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The options as data. */
#ifndef KP_CLI_OPTION_TABLE_H
#define KP_CLI_OPTION_TABLE_H

#include "cli/options.h"

typedef struct kp_option_row {
    const char *name;
    const char *argument; /* NULL: takes none; "[...": may be left out */
    kp_status (*read)(const char *value, kp_options *options, kp_error *error); /* value NULL: left out */
    size_t flag; /* [bytes] of the bool in kp_options that it sets, where there is nothing to read; 0: --help */
    unsigned commands;
    const char *help; /* lines after the first are indented by the writer */
} kp_option_row;

#define KP_MAX_OPTIONS 40

/** The options, closed by one whose name is NULL. */
extern const kp_option_row kp_option_rows[];

#endif
