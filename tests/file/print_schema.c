/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Prints the JSON Schema of damper files from the key table, for editors: the committed stacks/kneepoint.schema.json
   is exactly this output (a test compares them), so schema, reader and hints cannot come apart.
        build/tests/file/print_schema > stacks/kneepoint.schema.json */
#include "file/keys.h"

#include <stdio.h>
#include <string.h>

static void indent(int depth)
{
    printf("%*s", 2 * depth, "");
}

static void print_string(const char *text)
{
    putchar('"');
    for (; *text != '\0'; text++) {
        if (*text == '"' || *text == '\\') {
            putchar('\\');
        }
        putchar(*text);
    }
    putchar('"');
}

/* A decimal number by our own grammar. */
#define NUMBER "[+-]?([0-9]+(\\.[0-9]*)?|\\.[0-9]+)([eE][+-]?[0-9]+)?"

static void print_pattern(const char *pattern)
{
    printf("{\"type\": \"string\", \"pattern\": ");
    print_string(pattern);
    printf("}");
}

static void print_quantity(kp_dimension dimension)
{
    if (dimension == KP_DIM_NONE) { /* an editor's YAML reader makes a number of it */
        printf("{\"type\": [\"string\", \"number\"], \"pattern\": ");
        print_string("^ *" NUMBER " *%?( |$)");
        printf("}");
    } else if (dimension == KP_DIM_GAS_PRESSURE) {
        print_pattern("^ *" NUMBER " *[A-Za-z](.* (gauge|absolute)|[A-Za-z]*[gGaA])( |$)");
    } else if (dimension == KP_DIM_AREA) { /* holes and slots: 6 x 8 mm */
        print_pattern("^ *" NUMBER " *([A-Za-z]|\xC3\x97 *[0-9.].*[A-Za-z\"])");
    } else {
        print_pattern(dimension == KP_DIM_LENGTH ? "^ *" NUMBER "(-[0-9]+)?(/[0-9]+)? *[A-Za-z\"\xE2\x80\xB3\xC2\xB5]"
                                                 : "^ *" NUMBER " *([A-Za-z\xC2\xB5\xC2\xB0]|1/)");
    }
}

static void print_special(kp_special special)
{
    switch (special) {
    case KP_SPECIAL_FORMAT:
        printf("{\"enum\": [1, \"1\"]}");
        break;
    case KP_SPECIAL_BASED_ON:
        printf("{\"type\": \"string\", \"minLength\": 1}");
        break;
    case KP_SPECIAL_VISCOSITY: /* a trial may name one temperature more and say `none` to another */
        print_pattern("^ *" NUMBER " *[A-Za-z].* at .*[CFK]$");
        printf(", {\"type\": \"object\", \"minProperties\": 1, \"propertyNames\": {\"pattern\": ");
        print_string("^ *" NUMBER " *(degC|degF|K|\xC2\xB0?[CF])$");
        printf("}, \"additionalProperties\": {\"anyOf\": [");
        print_quantity(KP_DIM_KINEMATIC_VISCOSITY);
        printf(", {\"const\": \"none\"}]}}");
        break;
    case KP_SPECIAL_DENSITY:
        print_quantity(KP_DIM_DENSITY);
        break;
    case KP_SPECIAL_CHARGE:
        print_quantity(KP_DIM_GAS_PRESSURE);
        break;
    case KP_SPECIAL_GRADE:
        print_pattern("^ISO VG [0-9]+$");
        break;
    case KP_SPECIAL_AREAS:
        printf("{\"type\": \"object\", \"minProperties\": 1, \"propertyNames\": {\"pattern\": \"^[0-9]+$\"}, "
               "\"additionalProperties\": {\"anyOf\": [");
        print_quantity(KP_DIM_AREA);
        printf(", {\"const\": \"none\"}]}}");
        break;
    case KP_SPECIAL_SHIM_LINE:
        print_pattern("^ *([0-9]+ [oO][fF] +)?[0-9.][^xX\xC3\x97]*[xX\xC3\x97] *[0-9.][0-9./-]* "
                      "*[A-WYZa-wyz\"\xE2\x80\xB3]");
        break;
    }
}

static void print_map(const kp_key_table *table, int depth);

/** What a value may be, without `none`. */
static void print_value(const kp_key *key, int depth)
{
    switch (key->kind) {
    case KP_KEY_QUANTITY:
        print_quantity(key->dimension);
        break;
    case KP_KEY_COUNT:
        printf("{\"type\": [\"string\", \"integer\"], \"pattern\": \"^[0-9]+$\", \"minimum\": 0}");
        break;
    case KP_KEY_TEXT:
        printf("{\"type\": \"string\", \"minLength\": 1, \"maxLength\": %zu}", key->text_size - 1);
        break;
    case KP_KEY_WORD:
        printf("{\"enum\": [");
        for (size_t i = 0; key->words[i] != NULL; i++) {
            printf("%s", i == 0 ? "" : ", ");
            print_string(key->words[i]);
        }
        printf("]}");
        break;
    case KP_KEY_MAP:
        if (key->alone != NULL) { /* stands in an anyOf */
            printf("{\"const\": ");
            print_string(key->alone);
            printf("}, ");
        }
        print_map(key->inside, depth);
        break;
    case KP_KEY_LIST:
        printf("{\"type\": \"array\", \"maxItems\": %zu, \"items\": ", key->item_max);
        print_value(key->item, depth);
        printf("}");
        break;
    case KP_KEY_NAMED:
        printf("{\"type\": \"object\", \"maxProperties\": %zu, \"propertyNames\": {\"maxLength\": %zu}, "
               "\"additionalProperties\": {\"anyOf\": [",
               key->item_max, key->text_size - 1);
        print_value(key->item, depth);
        printf(", {\"const\": \"none\"}]}}");
        break;
    case KP_KEY_SPECIAL:
        print_special(key->special);
        break;
    }
}

static void print_map(const kp_key_table *table, int depth)
{
    printf("{\"type\": \"object\", \"additionalProperties\": false, \"properties\": {\n");
    for (size_t i = 0; i < table->count; i++) {
        const kp_key *key = &table->keys[i];
        indent(depth + 1);
        print_string(key->name);
        printf(": {\"description\": ");
        print_string(key->about);
        printf(", \"anyOf\": [");
        print_value(key, depth + 1);
        printf(", {\"const\": \"none\"}]}%s\n", i + 1 < table->count ? "," : "");
    }

    indent(depth);
    printf("}}");
}

/** Only which keys a whole damper needs: a trial, which is based on another file, needs none of them. */
static void print_required(const kp_key_table *table, int depth)
{
    printf("{\"required\": [");
    bool first = true;
    for (size_t i = 0; i < table->count; i++) {
        if (table->keys[i].required && table->keys[i].unless == NULL) {
            printf("%s", first ? "" : ", ");
            print_string(table->keys[i].name);
            first = false;
        }
    }

    printf("], ");
    first = true;
    for (size_t i = 0; i < table->count; i++) { /* one or the other */
        if (table->keys[i].unless != NULL) {
            printf("%s{\"anyOf\": [{\"required\": [\"%s\"]}, {\"required\": [\"%s\"]}]}", first ? "\"allOf\": [" : ", ",
                   table->keys[i].name, table->keys[i].unless);
            first = false;
        }
    }

    printf("%s\"properties\": {\n", first ? "" : "], ");
    first = true;
    for (size_t i = 0; i < table->count; i++) {
        const kp_key *key = &table->keys[i];
        bool list = key->kind == KP_KEY_LIST && key->item->kind == KP_KEY_MAP;
        bool named = key->kind == KP_KEY_NAMED;
        if (key->kind != KP_KEY_MAP && !list && !named) {
            continue;
        }
        printf("%s", first ? "" : ",\n");
        first = false;
        indent(depth + 1);
        print_string(key->name);
        printf(list ? ": {\"items\": " : named ? ": {\"additionalProperties\": " : ": ");
        print_required(list || named ? key->item->inside : key->inside, depth + 1);
        printf(list || named ? "}" : "");
    }

    printf("%s", first ? "" : "\n");
    indent(depth);
    printf("}}");
}

int main(void)
{
    printf("{\n");
    printf("  \"$schema\": \"http://json-schema.org/draft-07/schema#\",\n");
    printf("  \"title\": \"Kneepoint damper or trial\",\n");
    printf("  \"description\": \"Made by tests/file/print_schema.c from the program's own key table. Sizes of ports, "
           "seats, clamps, bores and shims are diameters; every value carries its unit.\",\n");
    printf("  \"allOf\": [\n    ");
    print_map(&kp_damper_keys, 2);
    printf(",\n    {\"if\": {\"required\": [\"based on\"]}, \"else\": ");
    print_required(&kp_damper_keys, 2);
    printf("}\n  ]\n}\n");
    return ferror(stdout) != 0 || fflush(stdout) != 0 ? 5 : 0;
}
