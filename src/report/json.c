/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The JSON document. cJSON keeps the tree; numbers go in as text of our own, because cJSON's own 15 digits do not read
    back to the same double and follow the locale. */
#include "report/report_internal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cJSON *number_item(double value)
{
    char text[40];
    if (!isfinite(value)) {
        return cJSON_CreateNull();
    }
    kp_number_write(value, text, sizeof text);
    return cJSON_CreateRaw(text);
}

/* A JSON string in quotes (RFC 8259, section 7). A file name may hold any byte, but JSON is UTF-8: a byte that is not
   becomes a question mark. What would steer a terminal is escaped, because the document may be read in one.
   text: room for 6 bytes a byte of words, the quotes and the NUL. */
static void write_string(const char *words, char *text)
{
    *text++ = '"';
    while (*words != '\0') {
        bool steers;
        size_t length = kp_text_character(words, &steers);

        if (length == 0) {
            *text++ = '?';
            length = 1;
        } else if (steers) {
            const unsigned char *s = (const unsigned char *)words;
            unsigned code = length == 1   ? s[0]
                            : length == 2 ? (s[0] & 0x1FU) << 6 | (s[1] & 0x3FU)
                                          : (s[0] & 0x0FU) << 12 | (s[1] & 0x3FU) << 6 | (s[2] & 0x3FU);
            text += snprintf(text, sizeof "\\u0000", "\\u%04x", code & 0xFFFFU);
        } else {
            if (*words == '"' || *words == '\\') {
                *text++ = '\\';
            }
            memcpy(text, words, length);
            text += length;
        }

        words += length;
    }

    *text++ = '"';
    *text = '\0';
}

static cJSON *text_item(const char *words)
{
    char *text = malloc(6 * strlen(words) + 3);
    if (text == NULL) {
        return NULL;
    }

    write_string(words, text);
    cJSON *item = cJSON_CreateRaw(text);
    free(text);
    return item;
}

/* ---- one value at a time ----------------------------------------------------------------------------------------- */

/* name NULL: parent is an array. */
static bool attach(cJSON *parent, const char *name, cJSON *item)
{
    bool good = name != NULL ? cJSON_AddItemToObject(parent, name, item) != 0 : cJSON_AddItemToArray(parent, item) != 0;
    if (!good) {
        cJSON_Delete(item);
    }
    return good;
}

static void add(kp_report *report, cJSON *parent, const char *name, cJSON *item)
{
    if (!attach(parent, name, item) && report->failure.status == KP_OK) {
        kp_error_set(&report->failure, KP_NO_MEMORY, "memory ran out while the answer was put together");
    }
}

void kp_json_number(kp_report *report, cJSON *parent, const char *name, double value)
{
    add(report, parent, name, number_item(value));
}

void kp_json_text(kp_report *report, cJSON *parent, const char *name, const char *text)
{
    add(report, parent, name, text_item(text));
}

void kp_json_bool(kp_report *report, cJSON *parent, const char *name, bool value)
{
    add(report, parent, name, cJSON_CreateBool(value));
}

cJSON *kp_json_object(kp_report *report, cJSON *parent, const char *name)
{
    cJSON *object = cJSON_CreateObject();
    add(report, parent, name, object);
    return report->failure.status == KP_OK ? object : NULL;
}

cJSON *kp_json_array(kp_report *report, cJSON *parent, const char *name)
{
    cJSON *array = cJSON_CreateArray();
    add(report, parent, name, array);
    return report->failure.status == KP_OK ? array : NULL;
}

/* ---- the document ------------------------------------------------------------------------------------------------ */

static bool add_texts(cJSON *document, const char *name, const char *const *texts, size_t count)
{
    cJSON *array = cJSON_AddArrayToObject(document, name);
    bool good = array != NULL;
    for (size_t i = 0; good && i < count; i++) {
        good = attach(array, NULL, text_item(texts[i]));
    }
    return good;
}

static bool add_warnings(cJSON *document, const kp_lines *warnings)
{
    cJSON *array = cJSON_AddArrayToObject(document, "warnings");
    bool good = array != NULL;
    for (size_t i = 0; good && i < warnings->count; i++) {
        good = attach(array, NULL, text_item(warnings->items[i].text));
    }
    return good;
}

static bool add_column(cJSON *columns, const kp_column *column, size_t rows)
{
    char name[64];
    kp_column_full_name(column, name, sizeof name);
    cJSON *array = cJSON_AddArrayToObject(columns, name);
    bool good = array != NULL;

    for (size_t row = 0; good && row < rows; row++) {
        if (column->is_text) {
            good = attach(array, NULL, text_item(column->texts[row] != NULL ? column->texts[row] : ""));
        } else {
            good = attach(array, NULL, number_item(column->values[row]));
        }
    }

    return good;
}

static bool fill_document(cJSON *document, const kp_report *report)
{
    const kp_request *request = report->request;
    bool good = cJSON_AddStringToObject(document, "program", "kneepoint") != NULL &&
                cJSON_AddStringToObject(document, "version", KP_VERSION) != NULL &&
                (request->file_count == 1 ? attach(document, "input", text_item(request->files[0]))
                                          : add_texts(document, "input", request->files, request->file_count)) &&
                add_texts(document, "settings", request->settings, request->setting_count) &&
                cJSON_AddStringToObject(document, "standing", "uncalibrated estimate") != NULL &&
                add_warnings(document, &report->warnings);

    /* copies: the report keeps its own */
    for (const cJSON *item = report->extra->child; good && item != NULL; item = item->next) {
        good = attach(document, item->string, cJSON_Duplicate(item, true));
    }

    /* The table of data, column by column. */
    cJSON *columns = good ? cJSON_AddObjectToObject(document, "columns") : NULL;
    good = columns != NULL;

    for (size_t i = 0; good && i < report->data.column_count; i++) {
        good = add_column(columns, &report->data.columns[i], report->data.row_count);
    }

    return good;
}

char *kp_report_json(const kp_report *report, kp_error *error)
{
    cJSON *document = cJSON_CreateObject();
    bool good = document != NULL && report->extra != NULL && fill_document(document, report);
    char *text = good ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);

    if (text == NULL) {
        kp_error_set(error, KP_NO_MEMORY, "memory ran out while the JSON was written");
    }

    return text; /* cJSON takes its memory from malloc, so the caller may free it */
}
