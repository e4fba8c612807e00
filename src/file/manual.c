/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The manual of a damper file, as text and as a page for man. */
#include "file.h"
#include "manual.h"

#include "manual_page.h"

#include <stdlib.h>
#include <string.h>

enum { BLOCKS_MAX = 48 /* [-] blocks of keys described; there are some 25 */ };

/** A block of keys, and where its defaults stand. */
typedef struct block {
    const kp_key_table *table;
    const char *about;
    char path[96];
    const char *target;
} block;

/** Blocks in the order in which they are met, each described once. */
typedef struct manual {
    kp_page *page;
    block blocks[BLOCKS_MAX];
    size_t count;
} manual;

static void write_form(const kp_key *key, char *out, size_t size)
{
    static const char *const forms[] = {[KP_KEY_COUNT] = "a whole number",
                                        [KP_KEY_TEXT] = "text",
                                        [KP_KEY_MAP] = "a block of keys",
                                        [KP_KEY_LIST] = "a list",
                                        [KP_KEY_NAMED] = "names, each with a block of keys",
                                        [KP_KEY_SPECIAL] = "as shown"};
    size_t used = 0;

    switch (key->kind) {
    case KP_KEY_QUANTITY:
        kp_text_print(out, size, "%s (%s)", kp_dimension_name(key->dimension), kp_dimension_units(key->dimension));
        break;
    case KP_KEY_WORD:
        for (size_t i = 0; key->words[i] != NULL && used < size; i++) {
            used += kp_text_print(out + used, size - used, "%s%s", i == 0 ? "" : ", ", key->words[i]);
        }
        break;
    default:
        used = kp_text_print(out, size, "%s", forms[key->kind]);
        if (key->alone != NULL) {
            kp_text_print(out + used, size - used, ", or `%s`", key->alone);
        }
        break;
    }
}

/** A default with its standing: the number comes from the program, so that the two cannot differ. */
static void write_without(const kp_key *key, const kp_key_note *note, const char *target, char *out, size_t size)
{
    const char *without = note == NULL ? "" : note->without;
    bool standing = strncmp(without, "assumed", 7) == 0 || strncmp(without, "read", 4) == 0;
    if (key->kind != KP_KEY_QUANTITY || key->dimension == KP_DIM_GAS_PRESSURE || !standing) {
        kp_text_print(out, size, "%s", without);
        return;
    }

    double value = 0.0;
    memcpy(&value, target + key->offset, sizeof value);
    if (value == 0.0) { /* it follows from other keys */
        kp_text_print(out, size, "%s", without);
        return;
    }

    kp_text_print(out, size, "%.4g%s%s, %s", kp_unit_convert(value, key->dimension, KP_UNITS_METRIC),
                  key->dimension == KP_DIM_NONE ? "" : " ", kp_unit_name(key->dimension, KP_UNITS_METRIC), without);
}

/** Where the table was described already, or NULL. */
static const block *described(const manual *in, const kp_key_table *table)
{
    for (size_t i = 0; i < in->count; i++) {
        if (in->blocks[i].table == table) {
            return &in->blocks[i];
        }
    }
    return NULL;
}

/** The path of what stands inside a key: `piston.bleed[0]`, `materials.NAME`. */
static void write_inner_path(const char *path, const kp_key *key, char *out, size_t size)
{
    kp_text_print(out, size, "%s%s%s%s", path, path[0] == '\0' ? "" : ".", key->name,
                  key->kind == KP_KEY_LIST    ? "[0]"
                  : key->kind == KP_KEY_NAMED ? ".NAME"
                                              : "");
}

static void describe_inside(manual *in, const kp_key *key, const char *path, const char *target)
{
    const kp_key_table *inside = kp_key_inside(key);
    if (inside == NULL) {
        return;
    }
    const block *same = described(in, inside);
    if (same != NULL) {
        char text[160];
        kp_text_print(text, sizeof text, "those of %s", same->path);
        kp_page_note(in->page, "Keys:", text);
        return;
    }
    if (in->count < BLOCKS_MAX) {
        block *made = &in->blocks[in->count++];
        *made = (block){.table = inside, .about = key->about, .target = target + key->offset};
        kp_text_print(made->path, sizeof made->path, "%s", path);
        kp_page_note(in->page, "Keys:", "see below");
    }
}

static void describe_key(manual *in, const block *at, const kp_key *key)
{
    const kp_key_note *note = kp_key_note_of(at->table, key);
    char path[128], form[260], without[260], example[800];
    write_inner_path(at->path, key, path, sizeof path);
    write_form(key, form, sizeof form);
    write_without(key, note, at->target, without, sizeof without);
    kp_key_example(at->table, key, KP_UNITS_METRIC, example, sizeof example);

    kp_page_term(in->page, key->name, key->about);
    kp_page_note(in->page, "Value:", form);
    if (key->unless != NULL) {
        char other[100];
        kp_text_print(other, sizeof other, "yes, or `%s` in its place", key->unless);
        kp_page_note(in->page, "Needed:", other);
    } else if (key->required) {
        kp_page_note(in->page, "Needed:", "yes");
    } else if (without[0] != '\0') {
        kp_page_note(in->page, "Left out:", without);
    }
    kp_page_note(in->page, "How:", note == NULL ? "" : note->measure);
    kp_page_literal(in->page, "Example:", example);
    describe_inside(in, key, path, at->target);
}

static void begin_page(kp_page *page)
{
    if (page->man) {
        kp_page_raw(page, ".TH KNEEPOINT 5 \"\" \"kneepoint " KP_VERSION "\" \"File Formats\"\n"
                          ".SH NAME\nkneepoint \\- the file that describes a damper\n");
    } else {
        kp_page_section(page, "THE DAMPER FILE");
    }
    if (page->man) {
        kp_page_section(page, "DESCRIPTION");
    }
    kp_page_paragraph(page,
                      "A damper is a text file in YAML: a key, a colon, a blank, and a value with its unit. Blocks are "
                      "indented with blanks, or stand in braces on one line. A line of a list begins with a hyphen and "
                      "a blank. Behind # a comment begins.");
    kp_page_paragraph(page, "Sizes of bores, ports, seats, clamps and shims are diameters. Units may be mixed, and "
                            "fractions of an inch are read (1-7/8 in). A value may have a tolerance: 0.40 mm +/- 0.03 "
                            "mm. The examples are those of one invented damper.");
    kp_page_paragraph(page,
                      "A path such as piston.bleed[0].ports names a key inside blocks; [0] is the first line of a "
                      "list. Messages name keys so, and --set takes them so.");
    kp_page_paragraph(page, "What is left out has a default. Its standing is given: read (in the source named) or "
                            "assumed.");
    kp_page_section(page, page->man ? "KEYS" : "KEYS OF THE FILE");
}

static void end_page(kp_page *page)
{
    kp_page_section(page, "A TRIAL");
    kp_page_paragraph(page, "A trial is a file that changes another one. Maps merge key by key, a list replaces the "
                            "whole list, and `none` removes a key.");
    kp_page_literal(page, "", "format: 1");
    kp_page_literal(page, "", "based on: van-rear.yaml");
    kp_page_literal(page, "", "name: One face shim more");
    kp_page_literal(page, "",
                    "piston: {compression: {stack: [3 of 56 x 0.20 mm, 1 of 42 x 0.20 mm, 1 of 30 x 0.20 mm]}}");

    kp_page_section(page, "SAFETY");
    kp_page_paragraph(page, "A damper contains gas under pressure. Let the charge out by the maker's procedure before "
                            "you open it to measure. Charging is for licensed practice: dry nitrogen only, within the "
                            "maker's limit.");
    if (page->man) {
        kp_page_section(page, "SEE ALSO");
        kp_page_raw(page, ".BR kneepoint (1)\n");
    }
}

kp_status kp_manual_write(bool man, char **text, kp_error *error)
{
    kp_draft *defaults = calloc(1, sizeof *defaults);
    manual *made = calloc(1, sizeof *made);
    kp_page page = {.man = man};
    if (defaults == NULL || made == NULL) {
        free(made);
        free(defaults);
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the manual was written");
    }

    kp_damper_defaults(&defaults->damper);
    made->page = &page;
    made->blocks[made->count++] = (block){&kp_damper_keys, "The whole file.", "", (const char *)defaults};
    begin_page(&page);

    /* Blocks inside are found on the way. */
    for (size_t i = 0; i < made->count; i++) {
        const block at = made->blocks[i];
        if (i > 0) {
            kp_page_block(&page, at.path, at.about);
        }
        for (size_t j = 0; j < at.table->count; j++) {
            describe_key(made, &at, &at.table->keys[j]);
        }
    }

    end_page(&page);
    free(made);
    free(defaults);
    if (page.failed) {
        free(page.text);
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the manual was written");
    }
    *text = page.text;
    return KP_OK;
}
