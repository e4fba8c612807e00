/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kneepoint/base.h"

#include <criterion/criterion.h>
#include <float.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

Test(status, every_status_has_a_text_and_an_exit)
{
    static const int exits[] = {0, 1, 2, 3, 3, 3, 4, 4, 5, 5, 5}; /* in the order of KP_STATUS_LIST */
    cr_assert_eq(sizeof exits / sizeof exits[0], KP_STATUS_COUNT);
    for (int i = 0; i < KP_STATUS_COUNT; i++) {
        cr_expect_eq(kp_status_exit((kp_status)i), exits[i], "%d", i);
        cr_expect(strlen(kp_status_text((kp_status)i)) > 3);
    }
    cr_assert_eq(kp_status_exit((kp_status)99), 5);
    cr_assert_str_eq(kp_status_text((kp_status)99), "unknown status");
}

Test(error, carries_numbers_and_place)
{
    kp_error error = {0};
    cr_assert_eq(kp_error_set(&error, KP_OUT_OF_RANGE, "thickness %g mm", 15.25), KP_OUT_OF_RANGE);
    cr_assert_eq(kp_error_prefix(&error, "shim %d: ", 3), KP_OUT_OF_RANGE);
    cr_assert_str_eq(error.message, "shim 3: thickness 15.25 mm");
    cr_assert_eq(kp_error_set(NULL, KP_NO_MEMORY, "x"), KP_NO_MEMORY, "a caller may want the status only");
    kp_error_prefix(NULL, "x");
}

/* A message that is too long ends at a whole character: every cut of a text of 2-, 3- and 4-byte characters. */
Test(error, never_ends_in_half_a_character)
{
    static const char pattern[] = "a\xC3\xA4\xE2\x86\x92\xF0\x9F\x94\xA7";
    for (size_t size = 1; size < 40; size++) {
        char buffer[40];
        kp_text_print(buffer, size, "%s%s%s%s", pattern, pattern, pattern, pattern);
        size_t length = strlen(buffer);
        cr_expect(length < size && length + 4 >= size, "%zu of %zu bytes used", length, size);
        size_t at = 0;
        while (at < length) {
            unsigned char lead = (unsigned char)buffer[at];
            at += lead < 0x80 ? 1 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
        }
        cr_expect_eq(at, length, "size %zu cuts a character", size);
    }
    kp_error error = {0};
    char long_text[2000];
    memset(long_text, 'x', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    kp_error_set(&error, KP_BAD_INPUT, "%s", long_text);
    kp_error_prefix(&error, "%s", long_text);
    cr_assert_eq(strlen(error.message), sizeof error.message - 1);
}

Test(number, reads_decimal_numbers_only)
{
    static const char *const bad[] = {"",      " 1",  "1 ",     "0x40",  "nan", "inf",      "1e",       "1e+",
                                      "e5",    ".",   "+",      "1.2.3", "1,5", "1_000",    "--1",      "+-1",
                                      "1e999", "1d5", "1e-999", "1f",    "0b1", "infinity", "\xD9\xA1", "1\n"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double value = 17.25;
        cr_expect(!kp_number_read(bad[i], &value), "`%s` was taken as %g", bad[i], value);
        cr_expect_eq(value, 17.25);
    }
    static const struct {
        const char *text;
        double value;
    } good[] = {{"2.385e5", 2.385e5},
                {"-.37", -0.37},
                {"+3.", 3.0},
                {"007", 7.0},
                {"1E-3", 1e-3},
                {"0e-999", 0.0},
                {"-0.000e5", 0.0},
                {"4.9406564584124654e-324", 5e-324},
                {"0.1", 0.1},
                {"1e308", 1e308},
                {"1.7976931348623157e308", DBL_MAX}};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        double value = NAN;
        cr_expect(kp_number_read(good[i].text, &value), "`%s` was refused", good[i].text);
        cr_expect_eq(value, good[i].value, "`%s` gave %.17g", good[i].text, value);
    }
}

/* 200 000 doubles of random bits (splitmix64, seed 20240611) come back bit for bit, and shorter where they can. */
Test(number, writes_what_reads_back)
{
    uint64_t state = 20240611;
    size_t finite = 0;
    for (int i = 0; i < 200000; i++) {
        uint64_t bits = (state += 0x9E3779B97F4A7C15ULL);
        bits = (bits ^ (bits >> 30)) * 0xBF58476D1CE4E5B9ULL;
        bits = (bits ^ (bits >> 27)) * 0x94D049BB133111EBULL;
        bits ^= bits >> 31;
        double value, back = NAN;
        memcpy(&value, &bits, sizeof value);
        if (!isfinite(value)) {
            continue;
        }
        finite++;
        char text[40];
        kp_number_write(value, text, sizeof text);
        cr_assert(kp_number_read(text, &back), "%s", text);
        cr_assert(memcmp(&value, &back, sizeof value) == 0, "%a became %s became %a", value, text, back);
    }
    cr_assert_gt(finite, 190000);
    char text[40];
    kp_number_write(0.1, text, sizeof text);
    cr_assert_str_eq(text, "0.1");
    kp_number_write(63.5, text, sizeof text);
    cr_assert_str_eq(text, "63.5");
    kp_number_write(NAN, text, 4);
    cr_assert_str_eq(text, "nan");
}

Test(text, finds_the_nearest_name)
{
    static const char *const names[] = {"bore", "rod", "stroke", "load coverage", "curtain coverage", "viscosity"};
    static const struct {
        const char *word, *nearest;
    } cases[] = {{"bor", "bore"},
                 {"Bore", "bore"},
                 {"brore", "bore"},
                 {"rdo", "rod"},
                 {"load_coverage", "load coverage"},
                 {"Load-Coverage", "load coverage"},
                 {"viscosty", "viscosity"},
                 {"viskosity", "viscosity"},
                 {"strok", "stroke"},
                 {"temperature", NULL},
                 {"x", NULL},
                 {"", NULL}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *found = kp_text_nearest(cases[i].word, names, sizeof names / sizeof names[0]);
        if (cases[i].nearest == NULL) {
            cr_expect(found == NULL, "%s -> %s", cases[i].word, found == NULL ? "" : found);
        } else {
            cr_expect(found != NULL && strcmp(found, cases[i].nearest) == 0, "%s -> %s", cases[i].word,
                      found == NULL ? "none" : found);
        }
    }
    char endless[3000];
    memset(endless, 'b', sizeof endless - 1);
    endless[sizeof endless - 1] = '\0';
    cr_assert(kp_text_nearest(endless, names, 6) == NULL);
}

/* Lengths and refusals from The Unicode Standard, table 3-7 (from memory); each end of each range of what steers. */
Test(text, characters_that_steer)
{
    static const struct {
        const char *text;
        size_t length;
        bool steers;
    } cases[] = {
        {"a", 1, false},
        {"\x1B[31m", 1, true},
        {"\x7F", 1, true},
        {"\n", 1, true},
        {"\xC2\x80", 2, true},
        {"\xC2\x9B", 2, true},
        {"\xC2\x9F", 2, true},
        {"\xC2\xA0", 2, false},
        {"\xC3\xA4", 2, false},
        {"\xD8\x9C", 2, true},
        {"\xE2\x80\x8D", 3, false},
        {"\xE2\x80\x8E", 3, true},
        {"\xE2\x80\xA8", 3, true},
        {"\xE2\x80\xAA", 3, true},
        {"\xE2\x80\xAE", 3, true},
        {"\xE2\x80\xAF", 3, false},
        {"\xE2\x81\xA5", 3, false},
        {"\xE2\x81\xA6", 3, true},
        {"\xE2\x81\xA9", 3, true},
        {"\xF0\x9F\x94\xA7", 4, false},
        {"\x9B", 0, false},             /* C1 as one byte: not UTF-8 */
        {"\xC0\x9B", 0, false},         /* overlong ESC */
        {"\xE0\x80\x9B", 0, false},     /* overlong */
        {"\xED\xA0\x80", 0, false},     /* surrogate */
        {"\xF4\x90\x80\x80", 0, false}, /* beyond U+10FFFF */
        {"\xE2\x80", 0, false},         /* cut short */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bool steers = !cases[i].steers;
        cr_expect_eq(kp_text_character(cases[i].text, &steers), cases[i].length, "case %zu", i);
        cr_expect_eq(steers, cases[i].steers, "case %zu", i);
    }
    char text[] = "n\xC3\xA4me\x1B[31m\xC2\x9B"
                  "1\xE2\x80\xAE\xFFx\r\n";
    kp_text_defuse(text);
    cr_expect_str_eq(text, "n\xC3\xA4me?[31m?1??x??");
}

Test(text, shows_foreign_text_safely)
{
    char out[KP_TEXT_SHOWN];
    kp_text_show("a\x1B[31mb\nc", out, sizeof out);
    cr_assert_str_eq(out, "a?[31mb?c");
    char umlauts[201];
    for (size_t i = 0; i < 100; i++) {
        memcpy(umlauts + 2 * i, "\xC3\xA4", 2);
    }
    umlauts[200] = '\0';
    kp_text_show(umlauts, out, sizeof out);
    cr_assert_eq(strlen(out) % 2, 1, "whole characters and three points");
    cr_assert_str_eq(out + strlen(out) - 3, "...");
}
