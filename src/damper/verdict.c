/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether a damper is sound, decided in one place: everything that marks, warns or refuses asks here. */
#include "damper/damper_internal.h"

unsigned kp_point_risks(const kp_curve_point *point)
{
    bool cavitates = point->cavitates || point->compression_margin <= 0.0 || point->rebound_margin <= 0.0;
    return (point->past_yield ? KP_RISK_YIELD : 0U) | (point->reservoir_past_yield ? KP_RISK_RESERVOIR_YIELD : 0U) |
           (cavitates ? KP_RISK_CAVITATION : 0U);
}

unsigned kp_summary_risks(const kp_curve_summary *summary)
{
    return (summary->past_yield ? KP_RISK_YIELD : 0U) | (summary->reservoir_past_yield ? KP_RISK_RESERVOIR_YIELD : 0U) |
           (summary->margin_goes ? KP_RISK_CAVITATION : 0U);
}

const char *kp_risk_words(unsigned risks)
{
    static const char *const words[] = {
        "",
        "a shim would set or break",
        "a shim of the reservoir's valve would set or break",
        "shims would set or break, the reservoir's among them",
        "it cavitates",
        "a shim would set or break, it cavitates",
        "a shim of the reservoir's valve would set or break, it cavitates",
        "shims would set or break, the reservoir's among them, it cavitates",
    };
    return words[risks & (KP_RISK_YIELD | KP_RISK_RESERVOIR_YIELD | KP_RISK_CAVITATION)];
}
