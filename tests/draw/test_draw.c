/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Drawing: no word of a figure is run as a command, no incomplete file is left, and each failure of gnuplot gives a
    message. */
#include "draw/draw_internal.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static char folder[] = "/tmp/kneepoint-draw-XXXXXX";

static void begin(void)
{
    signal(SIGPIPE, SIG_IGN); /* as the program does */
    signal(SIGXFSZ, SIG_IGN);
    cr_assert_not_null(mkdtemp(folder));
    cr_assert_eq(chdir(folder), 0);
}

static void end(void)
{
    char command[100];
    cr_assert_eq(chdir("/"), 0);
    snprintf(command, sizeof command, "/bin/rm -rf %s", folder);
    cr_assert_eq(system(command), 0);
}

TestSuite(draw, .init = begin, .fini = end, .timeout = 120);

/* A curve of 1713 v^0.6 - 411 N, and a flat, an empty and a broken line. */
static void make_figure(kp_figure *figure, const char *title, const char *label)
{
    enum { N = 37 };
    double x[N], y[N], flat[N], nothing[N], broken[N];
    kp_error error = {0};
    for (int i = 0; i < N; i++) {
        x[i] = 0.0283 * (i + 1);
        y[i] = 1713.0 * pow(x[i], 0.6) - 411.0;
        flat[i] = 7.25;
        nothing[i] = NAN;
        broken[i] = i % 5 == 2 ? NAN : 100.0 * i;
    }
    cr_assert_eq(kp_figure_begin(figure, title, 3, &error), KP_OK, "%s", error.message);
    cr_assert_eq(kp_figure_add(figure, 0, label, N, x, y, 0, false, true, &error), KP_OK);
    cr_assert_eq(kp_figure_add(figure, 0, "knee", 1, x + 7, y + 7, 0, true, true, &error), KP_OK);
    cr_assert_eq(kp_figure_add(figure, 0, "broken", N, x, broken, 1, false, true, &error), KP_OK);
    cr_assert_eq(kp_figure_add(figure, 1, "flat", N, x, flat, 2, false, true, &error), KP_OK);
    cr_assert_eq(kp_figure_add(figure, 2, "nothing", N, x, nothing, 3, false, true, &error), KP_OK);
    cr_assert_eq(kp_figure_add(figure, 2, "no points", 0, NULL, NULL, KP_STYLE_CROSS, true, true, &error), KP_OK);
    for (size_t p = 0; p < 3; p++) {
        snprintf(figure->panels[p].x_label, sizeof figure->panels[p].x_label, "shaft speed [m/s]");
        snprintf(figure->panels[p].y_label, sizeof figure->panels[p].y_label, "force [N]");
    }
    snprintf(figure->note, sizeof figure->note,
             "A note of some length that has to be broken into several lines, as "
             "it is wider than the picture: gas 17.5 bar gauge (18.6 bar absolute) "
             "with the rod pushed in 125 mm of 250 mm, oil at 40 degC.");
}

static size_t read_file(const char *path, char *bytes, size_t size)
{
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s is not there", path);
    size_t count = fread(bytes, 1, size - 1, file);
    bytes[count] = '\0';
    fclose(file);
    return count;
}

static int files_here(void)
{
    DIR *here = opendir(".");
    int count = 0;
    for (struct dirent *entry; (entry = readdir(here)) != NULL;) {
        count += entry->d_name[0] != '.';
    }
    closedir(here);
    return count;
}

/* Puts a shell script in place of gnuplot, first on the PATH. */
static void put_gnuplot(const char *script)
{
    cr_assert_eq(mkdir("bin", 0755), 0);
    FILE *file = fopen("bin/gnuplot", "w");
    cr_assert_not_null(file);
    fprintf(file, "#!/bin/sh\n%s\n", script);
    fclose(file);
    cr_assert_eq(chmod("bin/gnuplot", 0755), 0);
    char path[400];
    snprintf(path, sizeof path, "%s/bin:%s", folder, getenv("PATH"));
    setenv("PATH", path, 1);
}

static char picture[4000000];

Test(draw, pictures_are_whole)
{
    kp_figure figure;
    kp_error error = {0};
    make_figure(&figure, "Rescue van", "compression");
    umask(022);
    cr_assert_eq(kp_figure_draw(&figure, "a.svg", &error), KP_OK, "%s", error.message);
    read_file("a.svg", picture, sizeof picture);
    cr_expect_not_null(strstr(picture, "<svg"));
    cr_expect_not_null(strstr(picture, "</svg>"));
    cr_expect_not_null(strstr(picture, ">Rescue van<"), "the title is in it");
    cr_expect_not_null(strstr(picture, ">shaft speed [m/s]<"));
    cr_assert_eq(kp_figure_draw(&figure, "a.png", &error), KP_OK, "%s", error.message);
    read_file("a.png", picture, sizeof picture);
    cr_expect_eq(memcmp(picture, "\x89PNG\r\n\x1a\n", 8), 0);
    const unsigned char *header = (const unsigned char *)picture + 16; /* ISO/IEC 15948: width in the first chunk */
    unsigned width = (unsigned)header[0] << 24 | (unsigned)header[1] << 16 | (unsigned)header[2] << 8 | header[3];
    cr_expect_eq(width, 1200, "%u pixels wide", width);
    cr_assert_eq(kp_figure_draw(&figure, "a.pdf", &error), KP_OK, "%s", error.message);
    size_t length = read_file("a.pdf", picture, sizeof picture);
    cr_expect_eq(memcmp(picture, "%PDF-", 5), 0);
    cr_expect_eq(memcmp(picture + length - 6, "%%EOF\n", 6), 0);
    struct stat there;
    cr_assert_eq(stat("a.svg", &there), 0);
    cr_expect_eq(there.st_mode & 0777, 0644, "an ordinary file, mode %o", there.st_mode & 0777);
    cr_expect_eq(files_here(), 3, "nothing else is left");
    kp_figure_free(&figure);
}

/* In double quotes gnuplot would run a name with backticks in a shell. A quote or line end could start a command. */
Test(draw, words_are_never_run)
{
    static const char *const names[] = {
        "`touch ran`",
        "'; system('touch ran'); print '",
        "\"`touch ran`\"",
        "x\nsystem('touch ran')\n",
        "@macro $(touch ran) {/Symbol a}_b^c",
        "a' # 'b",
        "'",
        "''",
        "'''; system('touch ran') #",
        "it's",
        "ends in a quote'",
        "<script>alert(1)</script> & more",
        "\\n\\' \\",
        "\xFF\xC3 broken UTF-8 \xE2\x82",
        "\xC3\x85ngstr\xC3\xB6m \xE2\x82\xAC",
        "",
        "$panel0_line0 << END_OF_DATA",
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        kp_figure figure;
        kp_error error = {0};
        make_figure(&figure, names[i], names[i]);
        snprintf(figure.note, sizeof figure.note, "%s", names[i]);
        snprintf(figure.panels[0].title, sizeof figure.panels[0].title, "%s", names[i]);
        snprintf(figure.panels[0].x_label, sizeof figure.panels[0].x_label, "%s", names[i]);
        snprintf(figure.panels[1].y_label, sizeof figure.panels[1].y_label, "%s", names[i]);
        cr_expect_eq(kp_figure_draw(&figure, "b.svg", &error), KP_OK, "%s: %s", names[i], error.message);
        cr_expect_eq(access("ran", F_OK), -1, "a command in the name was run: %s", names[i]);
        char *text = NULL;
        cr_expect_eq(kp_figure_text(&figure, 80, 60, &text, &error), KP_OK, "%s: %s", names[i], error.message);
        cr_expect_eq(access("ran", F_OK), -1, "a command in the name was run: %s", names[i]);
        free(text);
        kp_figure_free(&figure);
    }
    read_file("b.svg", picture, sizeof picture);
    cr_expect_null(strstr(picture, "<script"));
}

/* Makes a text of up to 24 characters that have a meaning for gnuplot or a shell. */
static void hostile(unsigned long long *state, char *text)
{
    static const char signs[] = "\"\"`\\;;#@%{}^_~ \n$()ab1";
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL; /* Knuth's MMIX generator, from memory */
    int length = (int)((*state >> 33) % 25);
    for (int i = 0; i < length; i++) {
        *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
        text[i] = signs[(*state >> 33) % (sizeof signs - 1)];
    }
    strcpy(text + length, length % 3 == 0 ? "`touch ran`" : length % 3 == 1 ? "';system('touch ran')" : "");
}

Test(draw, random_words_are_never_run)
{
    unsigned long long state = 20260731; /* seed */
    for (int i = 0; i < 12; i++) {
        char text[80];
        kp_figure figure;
        kp_error error = {0};
        hostile(&state, text);
        make_figure(&figure, text, text);
        for (size_t p = 0; p < 3; p++) {
            hostile(&state, figure.panels[p].title);
            hostile(&state, figure.panels[p].x_label);
            hostile(&state, figure.panels[p].y_label);
            hostile(&state, figure.panels[p].series[0].label);
        }
        hostile(&state, figure.note);
        cr_expect_eq(kp_figure_draw(&figure, "c.svg", &error), KP_OK, "figure %d: %s", i, error.message);
        cr_expect_eq(access("ran", F_OK), -1, "a command in a name was run, figure %d", i);
        kp_figure_free(&figure);
    }
}

Test(draw, text_for_a_terminal)
{
    kp_figure figure;
    kp_error error = {0};
    char *text = NULL;
    make_figure(&figure, "Rescue van", "compression");
    cr_assert_eq(kp_figure_text(&figure, 72, 50, &text, &error), KP_OK, "%s", error.message);
    cr_expect_not_null(strstr(text, "Rescue van"));
    cr_expect_not_null(strstr(text, "*****compression"));
    cr_expect_null(strchr(text, '\f'));
    cr_expect_null(strchr(text, '\033'), "no colour in a plain terminal");
    for (const char *line = text; *line != '\0'; line += strcspn(line, "\n") + 1) {
        cr_expect(strcspn(line, "\n") <= 72, "a line of %zu letters", strcspn(line, "\n"));
    }
    free(text);
    text = NULL;
    cr_expect_eq(kp_figure_text(&figure, 19, 50, &text, &error), KP_OUT_OF_RANGE);
    cr_expect_null(text);
    kp_figure_free(&figure);
}

/* Styles must differ without colour: no two have the same dash or the same mark. */
Test(draw, styles_differ_without_colour)
{
    for (int a = 0; a < KP_STYLE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            cr_expect(strcmp(kp_line_style_of(a)->dash, kp_line_style_of(b)->dash) != 0, "dash of %d and %d", a, b);
            cr_expect(kp_line_style_of(a)->mark != kp_line_style_of(b)->mark, "mark of %d and %d", a, b);
            cr_expect(strcmp(kp_line_style_of(a)->colour, kp_line_style_of(b)->colour) != 0, "colour %d, %d", a, b);
        }
    }
}

/** Expects a failure with these words in its message, and this number of files left. */
static void expect_failure(const char *path, kp_status status, const char *words, int files)
{
    kp_figure figure;
    kp_error error = {0};
    make_figure(&figure, "Rescue van", "compression");
    kp_status got = kp_figure_draw(&figure, path, &error);
    cr_expect_eq(got, status, "%s: %s, %s", path, kp_status_text(got), error.message);
    cr_expect_not_null(strstr(error.message, words), "`%s` is not in `%s`", words, error.message);
    cr_expect_eq(files_here(), files, "files left: %d", files_here());
    kp_figure_free(&figure);
}

static void put_old_picture(void)
{
    FILE *file = fopen("old.svg", "w");
    cr_assert_not_null(file);
    fputs("<?xml old", file);
    fclose(file);
}

static void expect_old_picture(void)
{
    read_file("old.svg", picture, sizeof picture);
    cr_expect_str_eq(picture, "<?xml old");
}

Test(draw, missing_gnuplot_is_a_sentence)
{
    put_old_picture();
    setenv("PATH", "/nowhere", 1);
    expect_failure("old.svg", KP_SYSTEM, "gnuplot is not installed", 1);
    expect_old_picture();
    kp_figure figure;
    kp_error error = {0};
    char *text = NULL;
    bool opened = true;
    make_figure(&figure, "Rescue van", "compression");
    cr_expect_eq(kp_figure_text(&figure, 80, 60, &text, &error), KP_SYSTEM);
    cr_expect_eq(kp_figure_window(&figure, &opened, &error), KP_SYSTEM);
    kp_figure_free(&figure);
}

Test(draw, bad_paths)
{
    cr_assert_eq(mkdir("folder.svg", 0755), 0);
    expect_failure("a.jpg", KP_USAGE, "ends in .svg, .png or .pdf", 1);
    expect_failure(".svg", KP_USAGE, "ends in .svg, .png or .pdf", 1);
    expect_failure("nowhere/a.svg", KP_SYSTEM, "No such file", 1);
    expect_failure("folder.svg", KP_SYSTEM, "not a plain file", 1);
    cr_assert_eq(symlink("/dev/full", "device.svg"), 0);
    expect_failure("device.svg", KP_SYSTEM, "not a plain file", 2);
}

/* gnuplot exits with 0 when it could not write; only the end of the file shows that the picture is incomplete. */
Test(draw, cut_short)
{
    put_old_picture();
    put_gnuplot("cat > /dev/null; echo '<svg>'; exit 0");
    expect_failure("old.svg", KP_SYSTEM, "cut short", 2);
    expect_old_picture();
}

Test(draw, gnuplot_fails)
{
    put_old_picture();
    put_gnuplot("cat > /dev/null; echo '<svg></svg>'; echo 'plot $x' >&2; echo '   ^' >&2; exit 3");
    expect_failure("old.svg", KP_SYSTEM, "exit status 3: plot $x", 2);
    expect_old_picture();
}

Test(draw, gnuplot_complains_but_ends_well)
{
    put_old_picture();
    put_gnuplot("cat > /dev/null; echo '<svg></svg>'; echo 'warning: could not do it' >&2; exit 0");
    expect_failure("old.svg", KP_SYSTEM, "could not do it", 2);
    expect_old_picture();
}

/* Notes of the font libraries come with a complete picture and are no failure. */
Test(draw, font_notes_are_no_failure)
{
    put_gnuplot("cat > /dev/null; echo '<svg></svg>'; echo 'Fontconfig warning: no cache' >&2; exit 0");
    kp_figure figure;
    kp_error error = {0};
    make_figure(&figure, "Rescue van", "compression");
    cr_expect_eq(kp_figure_draw(&figure, "a.svg", &error), KP_OK, "%s", error.message);
    kp_figure_free(&figure);
}

/* The locale of a bare machine, in which gnuplot would complain about the degree sign, and one with a decimal comma. */
Test(draw, any_locale)
{
    static const char *const locales[] = {"C", "POSIX", "de_DE.UTF-8"};
    for (size_t i = 0; i < sizeof locales / sizeof locales[0]; i++) {
        setenv("LC_ALL", locales[i], 1);
        kp_figure figure;
        kp_error error = {0};
        make_figure(&figure, "Rescue van", "compression");
        cr_expect_eq(kp_figure_draw(&figure, "locale.svg", &error), KP_OK, "%s: %s", locales[i], error.message);
        kp_figure_free(&figure);
    }
}

/* gnuplot dies without reading: the program must neither die of the broken pipe nor wait for ever. */
Test(draw, gnuplot_dies)
{
    put_old_picture();
    put_gnuplot("kill -9 $$");
    expect_failure("old.svg", KP_SYSTEM, "signal 9", 2);
    expect_old_picture();
}

/* A message longer than a pipe holds, written before the script is read. */
Test(draw, long_complaint_does_not_block)
{
    put_gnuplot("i=0; while [ $i -lt 4000 ]; do echo 'complaint complaint complaint complaint' >&2; i=$((i+1)); done; "
                "exit 1");
    expect_failure("a.svg", KP_SYSTEM, "exit status 1: complaint", 1);
}

Test(draw, terminal_not_built_in)
{
    put_gnuplot("cat > /dev/null; echo 'line 0: unknown or ambiguous terminal type; type just set terminal' >&2; "
                "exit 1");
    expect_failure("a.pdf", KP_SYSTEM, "this gnuplot cannot write .pdf", 1);
}

/* It closes its pipes and lives on: nothing is left to read, and only the time limit ends it. */
Test(draw, gnuplot_sleeps_behind_closed_pipes)
{
    put_gnuplot("exec <&- >&- 2>&-; sleep 50");
    kp_draw_text script = {0}, output = {0};
    kp_error error = {0};
    kp_draw_text_add(&script, "plot x\n");
    time_t began = time(NULL);
    cr_expect_eq(kp_gnuplot_run(&script, 1.0, &output, &error), KP_SYSTEM);
    cr_expect_not_null(strstr(error.message, "did not finish within 1 s"), "%s", error.message);
    cr_expect(time(NULL) - began < 20, "%ld s", (long)(time(NULL) - began));
    kp_draw_text_free(&script);
    kp_draw_text_free(&output);
}

/* Ended by a signal while gnuplot draws: neither a temporary file nor half a picture is left. */
Test(draw, signals_leave_nothing_behind)
{
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    put_old_picture();
    put_gnuplot("cat > /dev/null; echo '<?xml'; touch bin/drawing; sleep 1; echo '</svg>'");
    for (size_t i = 0; i < sizeof signals / sizeof signals[0]; i++) {
        pid_t child = fork();
        if (child == 0) {
            kp_figure figure;
            kp_error error = {0};
            signal(signals[i], SIG_DFL);
            make_figure(&figure, "Rescue van", "compression");
            _exit(kp_figure_draw(&figure, "old.svg", &error) == KP_OK ? 7 : 8);
        }

        const struct timespec pause = {0, 10000000};
        while (access("bin/drawing", F_OK) != 0) {
            nanosleep(&pause, NULL);
        }
        int outcome = 0;
        cr_assert_eq(kill(child, signals[i]), 0);
        cr_assert_eq(waitpid(child, &outcome, 0), child);
        cr_expect(WIFSIGNALED(outcome) && WTERMSIG(outcome) == signals[i], "outcome %x", (unsigned)outcome);
        cr_expect_eq(files_here(), 2, "files left: %d", files_here());
        expect_old_picture();
        cr_assert_eq(unlink("bin/drawing"), 0);
    }
}

/* A damper file named by mistake behind --plot, as .svg or through a link, is kept. */
Test(draw, never_replaces_what_is_no_picture)
{
    FILE *file = fopen("van.svg", "w");
    cr_assert_not_null(file);
    fputs("format: 1\n", file);
    fclose(file);
    expect_failure("van.svg", KP_SYSTEM, "is there and is no svg picture", 1);
    cr_assert_eq(symlink("van.svg", "link.png"), 0);
    expect_failure("link.png", KP_SYSTEM, "is there and is no png picture", 2);
    read_file("van.svg", picture, sizeof picture);
    cr_expect_str_eq(picture, "format: 1\n");
}

/* What gnuplot prints into the picture's text, and what names hold, must not steer the terminal that shows it. */
Test(draw, nothing_steers_the_terminal)
{
    kp_figure figure;
    kp_error error = {0};
    char *text = NULL;
    make_figure(&figure,
                "red \x1B[31m \xC2\x9B"
                "31m \xE2\x80\xAE end",
                "compression");
    cr_assert_eq(kp_figure_text(&figure, 72, 50, &text, &error), KP_OK, "%s", error.message);
    cr_expect_not_null(strstr(text, "red  [31m  31m   end"), "%.200s", text);
    cr_expect_null(strstr(text, "\x1B"));
    free(text);
    put_gnuplot("cat > /dev/null; printf 'a\\033[31mb\\n'");
    cr_assert_eq(kp_figure_text(&figure, 72, 50, &text, &error), KP_OK, "%s", error.message);
    cr_expect_str_eq(text, "a[31mb\n");
    free(text);
    kp_figure_free(&figure);
}

/* A limit on the file size acts like a full disk. */
Test(draw, file_size_limit)
{
    kp_figure figure;
    kp_error error = {0};
    make_figure(&figure, "Rescue van", "compression");
    struct rlimit before;
    cr_assert_eq(getrlimit(RLIMIT_FSIZE, &before), 0);
    struct rlimit small = before;
    small.rlim_cur = 1024;
    cr_assert_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
    kp_status status = kp_figure_draw(&figure, "a.svg", &error);
    cr_assert_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
    cr_expect_eq(status, KP_SYSTEM, "%s", error.message);
    cr_expect_eq(files_here(), 0);
    kp_figure_free(&figure);
}

/* A gnuplot with a window terminal: it gets the right script, and its process that stays does not block the program. */
Test(draw, window)
{
    put_gnuplot(
        "cat > script.txt; if grep -q GPVAL_TERMINALS script.txt; then echo ' dumb qt svg '; else cp script.txt "
        "window.txt; (sleep 30) & fi");
    kp_figure figure;
    kp_error error = {0};
    bool opened = false;
    make_figure(&figure, "Rescue van", "compression");
    cr_assert_eq(kp_figure_window(&figure, &opened, &error), KP_OK, "%s", error.message);
    cr_expect(opened);
    read_file("window.txt", picture, sizeof picture);
    cr_expect_not_null(strstr(picture, "set terminal qt noenhanced persist"));
    kp_figure_free(&figure);
}

Test(draw, no_window_in_this_gnuplot)
{
    put_gnuplot("cat > /dev/null; echo ' dumb svg '");
    kp_figure figure;
    kp_error error = {0};
    bool opened = true;
    make_figure(&figure, "Rescue van", "compression");
    cr_expect_eq(kp_figure_window(&figure, &opened, &error), KP_OK, "%s", error.message);
    cr_expect_not(opened);
    kp_figure_free(&figure);
}

Test(draw, figure_refuses_what_is_not_there)
{
    kp_figure figure;
    kp_error error = {0};
    double x = 0.31;
    cr_assert_eq(kp_figure_begin(&figure, "one", 1, &error), KP_OK);
    cr_expect_eq(kp_figure_add(&figure, 1, "x", 1, &x, &x, 0, false, true, &error), KP_OUT_OF_RANGE);
    cr_expect_eq(kp_figure_add(&figure, 0, "x", 1, &x, &x, -1, false, true, &error), KP_OUT_OF_RANGE);
    cr_expect_eq(kp_figure_add(&figure, 0, "x", 1, &x, &x, KP_STYLE_LAST + 1, false, true, &error), KP_OUT_OF_RANGE);
    cr_expect_eq(figure.panels[0].series_count, 0);
    kp_figure_free(&figure);
    cr_expect_eq(kp_figure_begin(&figure, "none", 0, &error), KP_OUT_OF_RANGE);
}

/* ---- sections -------------------------------------------------------------------------------------------------- */

/* The number that follows words in the script, searched from a position on. */
static double number_after(const char *from, const char *words)
{
    const char *at = strstr(from, words);
    cr_assert_not_null(at, "`%s` is not in the script", words);
    return strtod(at + strlen(words), NULL);
}

static void make_section(kp_figure *figure, size_t labels)
{
    enum { N = 5 };
    static const double x[N] = {6, 9, 14, 21, 28.3}, base[N] = {0.2, 0.2, 0.31, 0.57, 0.93},
                        top[N] = {0.4, 0.4, 0.51, 0.77, 1.13};
    kp_error error = {0};
    cr_assert_eq(kp_figure_begin(figure, "Section", 3, &error), KP_OK);
    for (size_t p = 0; p < 2; p++) {
        figure->panels[p].section = true;
        snprintf(figure->panels[p].title, sizeof figure->panels[p].title, "State %zu", p);
        snprintf(figure->panels[p].x_label, sizeof figure->panels[p].x_label, "radius [mm]");
        cr_assert_eq(kp_figure_add_area(figure, p, "shim", N, x, base, top, 0, p == 0, &error), KP_OK);
    }
    cr_assert_eq(kp_figure_add(figure, 2, "line", N, x, top, 0, false, true, &error), KP_OK);
    for (size_t i = 0; i < labels; i++) {
        char text[32];
        snprintf(text, sizeof text, "shim `%zu`", i);
        cr_assert_eq(kp_figure_label(figure, 0, text, 28.3, 0.93 + 0.001 * (double)i, &error), KP_OK);
    }
}

/* The enlargement of heights in the title must agree with the frame in pixels. */
Test(draw, section_is_to_scale)
{
    kp_figure figure;
    make_section(&figure, 3);
    kp_canvas canvas = kp_canvas_for(&figure, KP_CANVAS_PNG);
    kp_draw_text script = {0};
    kp_script_write(&script, &figure, &canvas);
    cr_assert_not(script.failed);
    const char *from = script.data;
    for (int p = 0; p < 2; p++) {
        from = strstr(from, "set tmargin at screen ");
        cr_assert_not_null(from);
        double top = number_after(from, "set tmargin at screen "),
               bottom = number_after(from, "set bmargin at screen ");
        double stated = number_after(from, "heights drawn ");
        double x_from = number_after(from, "set xrange ["), y_from = number_after(from, "set yrange [");
        double x_to = number_after(strstr(from, "set xrange ["), ":");
        double y_to = number_after(strstr(from, "set yrange ["), ":");
        double across = (0.97 - 0.095) * canvas.width / (x_to - x_from);
        double upward = (top - bottom) * canvas.height / (y_to - y_from);
        cr_expect(stated >= 2 && fabs(upward / across / stated - 1) < 1e-9, "stated %g, drawn %g", stated,
                  upward / across);
        cr_expect(y_from < 0.2 && y_to > 1.13 && x_from < 6 && x_to > 28.3, "all of it is inside the frame");
        from = strstr(from, "unset arrow");
    }
    kp_draw_text_free(&script);
    kp_figure_free(&figure);
}

/* A view from above beside two sections: its frame is square in pixels, in the column that the sections leave free and
   no lower than they reach; a circle's points have its radius; and the panel after it has its axes back. */
Test(draw, a_view_from_above_is_round_and_beside_its_sections)
{
    enum { N = 5 };
    static const double angle[N] = {0.3, 1.1, 2.9, 4.4, 6.1}, inner[N] = {7.3, 7.3, 7.3, 7.3, 7.3},
                        outer[N] = {19.7, 19.7, 19.7, 19.7, 19.7};
    kp_figure figure;
    kp_error error = {0};
    make_section(&figure, 3);
    kp_panel *view = &figure.panels[2];
    view->beside = 2;
    view->weight = 0;
    view->shade_max = 1.6;
    snprintf(view->x_label, sizeof view->x_label, "lift [mm]");
    free(view->series[0].x); /* the line that a section has there */
    view->series_count = 0;
    cr_assert_eq(kp_figure_add_area(&figure, 2, "", N, angle, inner, outer, KP_STYLE_SHADE + 3, false, &error), KP_OK);
    cr_assert_eq(kp_figure_label(&figure, 2, "crest", 0, 19.7, &error), KP_OK);

    kp_canvas canvas = kp_canvas_for(&figure, KP_CANVAS_PNG);
    kp_draw_text script = {0};
    kp_script_write(&script, &figure, &canvas);
    cr_assert_not(script.failed);
    const char *data = strstr(script.data, "$panel2_line0 << END_OF_DATA\n");
    cr_assert_not_null(data);
    char *at = strchr(data, '\n');
    for (int i = 0; i < 2 * N + 1; i++) {
        double x = strtod(at, &at), y = strtod(at, &at);
        cr_expect(fabs(hypot(x, y) - (i < N || i == 2 * N ? 19.7 : 7.3)) < 1e-9, "point %d: %g, %g", i, x, y);
    }

    const char *from = strstr(script.data, "unset border");
    cr_assert_not_null(from);
    double left = canvas.width * number_after(from, "set lmargin at screen "),
           right = canvas.width * number_after(from, "set rmargin at screen "),
           bottom = canvas.height * number_after(from, "set bmargin at screen "),
           top = canvas.height * number_after(from, "set tmargin at screen ");
    cr_expect(fabs(right - left - (top - bottom)) < 1e-9 * canvas.height, "%g x %g px", right - left, top - bottom);
    cr_expect(left > kp_section_column_from() * canvas.width && right < kp_section_column_to() * canvas.width);
    cr_expect(fabs(number_after(from, "set yrange [") + 19.7) < 1e-9);
    cr_expect_not_null(strstr(from, "'lift [mm]'"));
    cr_expect_not_null(strstr(from, "'crest' noenhanced front at 0,"));
    cr_expect_not_null(strstr(strstr(from, "plot "), "set xtics"));
    kp_draw_text_free(&script);

    /* gnuplot takes it, and a terminal leaves it out. */
    cr_expect_eq(kp_figure_draw(&figure, "view.png", &error), KP_OK, "%s", error.message);
    char *text = NULL;
    cr_expect_eq(kp_figure_text(&figure, 100, 60, &text, &error), KP_OK, "%s", error.message);
    cr_expect_null(strstr(text, "crest"));
    free(text);
    kp_figure_free(&figure);
}

/* However close the labelled points are, the labels stay apart and inside the frame. */
Test(draw, labels_of_a_section_never_overlap)
{
    const size_t counts[] = {1, 4, 11, KP_PANEL_LABELS};
    for (size_t c = 0; c < 4; c++) {
        kp_figure figure;
        make_section(&figure, counts[c]);
        kp_canvas canvas = kp_canvas_for(&figure, KP_CANVAS_SVG);
        kp_draw_text script = {0};
        kp_script_write(&script, &figure, &canvas);
        const char *panel = strstr(script.data, "set tmargin at screen ");
        double top = number_after(panel, "set tmargin at screen "),
               bottom = number_after(panel, "set bmargin at screen ");
        double y_from = number_after(panel, "set yrange ["), y_to = number_after(strstr(panel, "set yrange ["), ":");
        double pixels = (top - bottom) * canvas.height / (y_to - y_from), before = -INFINITY;
        size_t found = 0;
        const char *end = strstr(panel, "unset label");
        for (const char *at = panel; (at = strstr(at, "' noenhanced at ")) != NULL && at < end; found++) {
            if (strncmp(at, "' noenhanced at screen", 22) == 0) {
                at++;
                found--;
                continue;
            }
            double y = number_after(at, ",");
            cr_expect((y - before) * pixels >= 18 && y > y_from && y < y_to, "%zu labels: %g after %g", counts[c], y,
                      before);
            before = y;
            at++;
        }
        cr_expect(found == counts[c] || (counts[c] == KP_PANEL_LABELS && found > 8), "%zu of %zu", found, counts[c]);
        cr_expect(strstr(script.data, "'shim `0`'") != NULL, "single quotes: nothing is run");
        kp_draw_text_free(&script);
        kp_figure_free(&figure);
    }
}

Test(draw, draws_a_section)
{
    static const char *const names[] = {"section.svg", "section.png", "section.pdf"};
    kp_figure figure;
    kp_error error = {0};
    make_section(&figure, 5);
    for (size_t i = 0; i < 3; i++) {
        cr_expect_eq(kp_figure_draw(&figure, names[i], &error), KP_OK, "%s: %s", names[i], error.message);
    }
    char *text = NULL;
    cr_assert_eq(kp_figure_text(&figure, 100, 60, &text, &error), KP_OK, "%s", error.message);
    cr_expect(strstr(text, "not to scale here") != NULL && strstr(text, "shim `4`") != NULL, "%s", text);
    free(text);
    while (figure.panels[0].label_count < KP_PANEL_LABELS) {
        cr_assert_eq(kp_figure_label(&figure, 0, "more", 1, 1, &error), KP_OK);
    }
    cr_expect_eq(kp_figure_label(&figure, 0, "too many", 1, 1, &error), KP_OUT_OF_RANGE);
    cr_expect_eq(kp_figure_label(&figure, 3, "no panel", 1, 1, &error), KP_OUT_OF_RANGE);
    kp_figure_free(&figure);
}
