/* SPDX-License-Identifier: GPL-3.0-or-later */
/** YAML text to a tree: the only file that libyaml is seen in is yaml.c. */
#ifndef KP_FILE_YAML_H
#define KP_FILE_YAML_H

#include "report.h"

/** Parses bytes. Faults go to the report. Returned: the root, NULL when the text cannot be understood at all (then at
    least one fault was reported, or the arena has failed). A setting's value has place.line 0: all its nodes then share
    its place. */
kp_node *kp_yaml_parse(kp_arena *arena, kp_report *report, const char *bytes, size_t size, kp_place start);

#endif
