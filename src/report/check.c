/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `check`: what is wrong or risky in a file. A warning is of the file, a risk of the curve. */
#include "report/report_internal.h"

#include <math.h>

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

static void add_verdict(kp_report *report, const kp_run *run, size_t warnings, size_t risks)
{
    kp_unit_system units = report->request->units;
    const char *top = KP_SHOW(fmax(run->limits.top, kp_run_top_speed(run)), KP_DIM_SPEED, 3, units);

    /* The verdict holds up to the largest speed that was run. */
    if (kp_run_risks(run) != 0) {
        kp_lines_add(&report->top, "%s: NOT SOUND up to %s: no fault, %zu warning%s, %zu risk%s", run->path, top,
                     warnings, plural(warnings), risks, plural(risks));
    } else {
        kp_lines_add(&report->top,
                     "%s: no fault, %zu warning%s; up to %s no shim passes its yield and the cavitation margin stays "
                     "above %s",
                     run->path, warnings, plural(warnings), top,
                     KP_SHOW(kp_run_min_margin(run), KP_DIM_PRESSURE, 1, units));
    }
}

void kp_report_check(kp_report *report, const kp_run *run, size_t first_warning, size_t first_risk)
{
    static const kp_column_spec columns[] = {KP_TEXT_COLUMN("file", "file"), KP_TEXT_COLUMN("kind", "kind"),
                                             KP_TEXT_COLUMN("text", "text")};
    if (report->data.column_count == 0) {
        kp_table_add_columns(&report->data, columns, KP_COUNT(columns));
    }

    add_verdict(report, run, first_risk - first_warning, report->warnings.count - first_risk);

    /* The file's warnings come first in the list, then the risks of its curve. */
    for (size_t i = first_warning; i < report->warnings.count; i++) {
        const char *kind = i < first_risk ? "warning" : "risk";
        const char *text = report->warnings.items[i].text;

        kp_row row = kp_row_add(&report->data);
        kp_row_text(&row, run->path);
        kp_row_text(&row, kind);
        kp_row_text(&row, text);
        kp_lines_add(&report->top, "   - %s: %s", kind, text);
    }
}

void kp_report_check_end(kp_report *report, bool sound)
{
    kp_lines_add(&report->foot, "%s", kp_estimate_note);
    kp_json_bool(report, report->extra, "sound", sound);
}
