/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What has to be done to one stack to make it the other, shim by shim.
    The two stacks are laid out as single shims from the piston face outward. The longest run of shims that both have
    in the same order stays in place; what is left over is taken out, put in, or changed one for one. Shims are counted
    as a person holding the old stack counts them: shim 1 lies on the seat. */
#include "study/study_internal.h"

#include <string.h>

/** One shim: its line. */
typedef const kp_shim_line *kp_shim;

/* A hole that is the clamp's own is compared there, once, not in every shim. */
static bool same_shim(kp_shim a, kp_shim b)
{
    bool slots =
        a->slot_count == b->slot_count &&
        (a->slot_count == 0 || (kp_size_same(a->slot_width, b->slot_width) && a->has_slot_depth == b->has_slot_depth &&
                                (!a->has_slot_depth || kp_size_same(a->slot_depth, b->slot_depth))));
    return kp_size_same(a->outside, b->outside) && kp_size_same(a->thickness, b->thickness) &&
           a->has_hole == b->has_hole && (!a->has_hole || kp_size_same(a->hole, b->hole)) && slots &&
           strcmp(a->material, b->material) == 0;
}

/* Single shims of a stack; at most KP_MAX_SHIMS, which is all a valid file can hold. */
static size_t lay_out(const kp_valve_data *valve, kp_shim shims[KP_MAX_SHIMS])
{
    size_t count = 0;
    for (size_t line = 0; line < valve->line_count; line++) {
        for (int i = 0; i < valve->lines[line].count && count < KP_MAX_SHIMS; i++) {
            shims[count++] = &valve->lines[line];
        }
    }
    return count;
}

/* How many shims from the front are alike. */
static size_t run_length(const kp_shim *shims, size_t count)
{
    size_t run = 1;
    while (run < count && same_shim(shims[run], shims[0])) {
        run++;
    }
    return run;
}

static void add_added(kp_sentences *sentences, const char *direction, const kp_shim *shims, size_t count, size_t above)
{
    char shim[KP_SHIM_TEXT];
    while (count > 0) {
        /* Shims of one kind that follow each other make one sentence. */
        size_t run = run_length(shims, count);
        kp_shim_text(shims[0], sentences->system, shim);
        if (above > 0) {
            kp_sentence_add(sentences, "%s stack: %zu of %s added above shim %zu", direction, run, shim, above);
        } else {
            kp_sentence_add(sentences, "%s stack: %zu of %s added below shim 1, on the seat", direction, run, shim);
        }

        shims += run;
        count -= run;
    }
}

static void add_taken_out(kp_sentences *sentences, const char *direction, const kp_shim *shims, size_t count,
                          size_t first)
{
    char shim[KP_SHIM_TEXT], numbers[KP_SHIM_NUMBERS_TEXT];
    while (count > 0) {
        size_t run = run_length(shims, count);
        kp_sentence_add(sentences, "%s stack: %zu of %s taken out (%s)", direction, run,
                        kp_shim_text(shims[0], sentences->system, shim), kp_shim_numbers_text(first, run, numbers));
        shims += run;
        first += run;
        count -= run;
    }
}

static void add_changed(kp_sentences *sentences, const char *direction, const kp_shim *from, const kp_shim *to,
                        size_t count, size_t first)
{
    char before[KP_SHIM_TEXT], after[KP_SHIM_TEXT], numbers[KP_SHIM_NUMBERS_TEXT];
    while (count > 0) {
        /* A run ends where either side changes its kind. */
        size_t run_from = run_length(from, count), run_to = run_length(to, count);
        size_t run = run_from < run_to ? run_from : run_to;

        kp_sentence_add(sentences, "%s stack: %s %s from %s to %s", direction,
                        kp_shim_numbers_text(first, run, numbers), run == 1 ? "changes" : "change",
                        kp_shim_text(from[0], sentences->system, before),
                        kp_shim_text(to[0], sentences->system, after));

        from += run;
        to += run;
        first += run;
        count -= run;
    }
}

/* length[i][j]: longest common run of a from i on and b from j on. */
static void common_lengths(const kp_shim *a, size_t a_count, const kp_shim *b, size_t b_count,
                           unsigned char length[KP_MAX_SHIMS + 1][KP_MAX_SHIMS + 1])
{
    /* From the end backward, so that each entry needs only entries that are known. */
    for (size_t i = a_count + 1; i-- > 0;) {
        for (size_t j = b_count + 1; j-- > 0;) {
            if (i == a_count || j == b_count) {
                length[i][j] = 0;
            } else if (same_shim(a[i], b[j])) {
                length[i][j] = (unsigned char)(length[i + 1][j + 1] + 1);
            } else {
                length[i][j] = length[i + 1][j] > length[i][j + 1] ? length[i + 1][j] : length[i][j + 1];
            }
        }
    }
}

void kp_compare_stack(kp_sentences *sentences, const char *direction, const kp_valve_data *a, const kp_valve_data *b)
{
    kp_shim from[KP_MAX_SHIMS], to[KP_MAX_SHIMS];
    unsigned char length[KP_MAX_SHIMS + 1][KP_MAX_SHIMS + 1] = {{0}};

    size_t from_count = lay_out(a, from);
    size_t to_count = lay_out(b, to);
    common_lengths(from, from_count, to, to_count, length);

    /* The longest common subsequence stays; all else has changed. */
    size_t i = 0, j = 0;
    while (i < from_count || j < to_count) {
        if (i < from_count && j < to_count && same_shim(from[i], to[j])) {
            i++; /* taking a match as early as there is one puts an extra shim above its likes */
            j++;
            continue;
        }

        /* Everything up to the next shim that stays. */
        size_t out = i, in = j;
        while (i < from_count || j < to_count) {
            if (i < from_count && j < to_count && same_shim(from[i], to[j])) {
                break;
            }

            if (j == to_count || (i < from_count && length[i + 1][j] >= length[i][j + 1])) {
                i++;
            } else {
                j++;
            }
        }

        /* Changed one for one as far as it goes, the rest taken out or put in. */
        size_t out_count = i - out, in_count = j - in;
        size_t changed = out_count < in_count ? out_count : in_count;
        add_changed(sentences, direction, from + out, to + in, changed, out + 1);
        add_taken_out(sentences, direction, from + out + changed, out_count - changed, out + changed + 1);
        add_added(sentences, direction, to + in + changed, in_count - changed, out + changed);
    }
}
