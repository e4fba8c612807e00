/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The JSON document. cJSON keeps the tree; numbers go in as text of our own, because cJSON's own 15 digits do not read
    back to the same double and follow the locale. */
#include "cli/output.h"

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

bool kp_json_add_number(cJSON *object, const char *name, double value)
{
    cJSON *item = number_item(value);
    if (!cJSON_AddItemToObject(object, name, item)) {
        cJSON_Delete(item);
        return false;
    }
    return true;
}

/* Bytes of the well-formed UTF-8 character at s (Unicode 15, table 3-7, from memory), or 0. */
static size_t utf8_length(const unsigned char *s)
{
    size_t length = s[0] < 0x80                    ? 1
                    : s[0] >= 0xC2 && s[0] <= 0xDF ? 2
                    : (s[0] & 0xF0) == 0xE0        ? 3
                    : s[0] >= 0xF0 && s[0] <= 0xF4 ? 4
                                                   : 0;
    for (size_t i = 1; i < length; i++) {
        if ((s[i] & 0xC0) != 0x80) {
            return 0;
        }
    }
    bool overlong = (s[0] == 0xE0 && s[1] < 0xA0) || (s[0] == 0xF0 && s[1] < 0x90);
    bool beyond = (s[0] == 0xED && s[1] > 0x9F) || (s[0] == 0xF4 && s[1] > 0x8F);
    return overlong || beyond ? 0 : length;
}

/* A file name may hold any byte; JSON is UTF-8. */
static cJSON *text_item(const char *text)
{
    char *clean = malloc(strlen(text) + 1);
    if (clean == NULL) {
        return NULL;
    }
    size_t used = 0;
    for (const unsigned char *s = (const unsigned char *)text; *s != '\0';) {
        size_t length = utf8_length(s);
        if (length == 0) {
            clean[used++] = '?';
            s++;
            continue;
        }
        memcpy(clean + used, s, length);
        used += length;
        s += length;
    }
    clean[used] = '\0';
    cJSON *item = cJSON_CreateString(clean);
    free(clean);
    return item;
}

bool kp_json_add_text(cJSON *object, const char *name, const char *text)
{
    cJSON *item = text_item(text);
    if (!cJSON_AddItemToObject(object, name, item)) {
        cJSON_Delete(item);
        return false;
    }
    return true;
}

static bool add_to_array(cJSON *array, cJSON *item)
{
    if (!cJSON_AddItemToArray(array, item)) {
        cJSON_Delete(item);
        return false;
    }
    return true;
}

static bool add_input(cJSON *document, const kp_options *options)
{
    if (options->file_count == 1) {
        return kp_json_add_text(document, "input", options->files[0]);
    }
    cJSON *array = cJSON_AddArrayToObject(document, "input");
    bool good = array != NULL;
    for (size_t i = 0; good && i < options->file_count; i++) {
        good = add_to_array(array, text_item(options->files[i]));
    }
    return good;
}

static bool add_settings(cJSON *document, const kp_options *options)
{
    cJSON *array = cJSON_AddArrayToObject(document, "settings");
    bool good = array != NULL;
    for (size_t i = 0; good && i < options->setting_count; i++) {
        good = add_to_array(array, text_item(options->settings[i]));
    }
    return good;
}

static bool add_warnings(cJSON *document, const kp_lines *warnings)
{
    cJSON *array = cJSON_AddArrayToObject(document, "warnings");
    bool good = array != NULL && !warnings->failed;
    for (size_t i = 0; good && i < warnings->count; i++) {
        good = add_to_array(array, text_item(warnings->items[i]));
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
            good = add_to_array(array, text_item(column->texts[row] != NULL ? column->texts[row] : ""));
        } else {
            good = add_to_array(array, number_item(column->values[row]));
        }
    }
    return good;
}

static bool fill_document(cJSON *document, const kp_output *output)
{
    bool good = cJSON_AddStringToObject(document, "program", "kneepoint") != NULL &&
                cJSON_AddStringToObject(document, "version", KP_VERSION) != NULL &&
                add_input(document, output->options) && add_settings(document, output->options) &&
                cJSON_AddStringToObject(document, "standing", "uncalibrated estimate") != NULL &&
                add_warnings(document, &output->warnings);
    /* copies: the output keeps its own */
    for (const cJSON *item = output->extra != NULL ? output->extra->child : NULL; good && item != NULL;
         item = item->next) {
        cJSON *copy = cJSON_Duplicate(item, true);
        good = copy != NULL && cJSON_AddItemToObject(document, item->string, copy);
    }
    cJSON *columns = good ? cJSON_AddObjectToObject(document, "columns") : NULL;
    good = columns != NULL;
    for (size_t i = 0; good && i < output->data.column_count; i++) {
        good = add_column(columns, &output->data.columns[i], output->data.row_count);
    }
    return good;
}

kp_status kp_output_print_json(const kp_output *output, kp_error *error)
{
    cJSON *document = cJSON_CreateObject();
    char *text = document != NULL && fill_document(document, output) ? cJSON_Print(document) : NULL;
    cJSON_Delete(document);
    if (text == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out while the JSON was written");
    }
    printf("%s\n", text);
    cJSON_free(text);
    return KP_OK;
}
