/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Draws a figure into a file, a terminal or a window. */
#include "draw/draw_internal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/** A file format: how its name ends, and how a complete file ends. */
typedef struct kp_picture_kind {
    const char *ending;
    kp_canvas_kind canvas;
    const char *terminal; /* gnuplot's name for it */
    const char *tail;     /* last bytes of a complete file */
    size_t tail_length;
    size_t slack; /* number of bytes that may follow the tail */
} kp_picture_kind;

static const kp_picture_kind picture_kinds[] = {
    {".svg", KP_CANVAS_SVG, "svg", "</svg>", 6, 4},
    {".png", KP_CANVAS_PNG, "pngcairo", "IEND\xAE\x42\x60\x82", 8, 0}, /* ISO/IEC 15948: last chunk and its CRC */
    {".pdf", KP_CANVAS_PDF, "pdfcairo", "%%EOF", 5, 2},
};

/* The format that the ending of path stands for, or NULL. */
static const kp_picture_kind *kind_of(const char *path)
{
    size_t length = strlen(path);

    for (size_t i = 0; i < sizeof picture_kinds / sizeof picture_kinds[0]; i++) {
        size_t ending = strlen(picture_kinds[i].ending);
        if (length > ending && strcmp(path + length - ending, picture_kinds[i].ending) == 0) {
            return &picture_kinds[i];
        }
    }
    return NULL;
}

bool kp_figure_path_is_drawable(const char *path)
{
    return kind_of(path) != NULL;
}

/* gnuplot exits with 0 even when the disk is full, so the end of the file has to show that it is complete. */
static bool file_is_whole(int file, const kp_picture_kind *kind)
{
    /* The end of the file, with room for what may follow the mark. */
    char bytes[32];
    off_t end = lseek(file, 0, SEEK_END);
    off_t room = (off_t)(kind->tail_length + kind->slack);
    off_t from = end > room ? end - room : 0;
    ssize_t count = pread(file, bytes, sizeof bytes, from);

    for (size_t i = 0; count > 0 && i + kind->tail_length <= (size_t)count; i++) {
        if (memcmp(bytes + i, kind->tail, kind->tail_length) == 0) {
            return true;
        }
    }
    return false;
}

/* Draws into the open temporary file and checks that the picture is complete. */
static kp_status draw_into(const kp_figure *figure, const kp_picture_kind *kind, int file, kp_error *error)
{
    kp_draw_text script = {0};
    kp_canvas canvas = kp_canvas_for(figure, kind->canvas);

    kp_script_write(&script, figure, &canvas);
    kp_status status = kp_gnuplot_run(&script, (kp_gnuplot_output){.file = file}, error);
    kp_draw_text_free(&script);

    /* gnuplot says so when it was built without the library for this format. */
    if (status == KP_SYSTEM && error != NULL && strstr(error->message, "terminal type") != NULL) {
        return kp_error_set(error, KP_SYSTEM, "this gnuplot cannot write %s (it was built without %s)", kind->ending,
                            kind->terminal);
    }

    if (status == KP_OK && !file_is_whole(file, kind)) {
        return kp_error_set(error, KP_SYSTEM, "the picture was cut short: is the disk full?");
    }

    return status;
}

/* Gives the temporary file the mode of an ordinary one, because mkstemp makes it 0600, and renames it to path. */
static kp_status put_in_place(int file, const char *temporary, const char *path, kp_status status, kp_error *error)
{
    /* umask can only be read by setting it. */
    if (status == KP_OK) {
        mode_t mask = umask(0);
        umask(mask);
        if (fchmod(file, 0666 & ~mask) != 0) {
            status = kp_error_set(error, KP_SYSTEM, "cannot be written: %s", strerror(errno));
        }
    }

    /* An error of a delayed write may show only when the file is closed. */
    if (close(file) != 0 && status == KP_OK) {
        status = kp_error_set(error, KP_SYSTEM, "cannot be written: %s", strerror(errno));
    }

    if (status == KP_OK && rename(temporary, path) != 0) {
        status = kp_error_set(error, KP_SYSTEM, "cannot be written: %s", strerror(errno));
    }

    return status;
}

kp_status kp_figure_draw(const kp_figure *figure, const char *path, kp_error *error)
{
    const kp_picture_kind *kind = kind_of(path);
    if (kind == NULL) {
        return kp_error_set(error, KP_USAGE, "%s: a plot file ends in .svg, .png or .pdf", path);
    }

    /* A device or a folder is never replaced. */
    struct stat there;
    if (stat(path, &there) == 0 && !S_ISREG(there.st_mode)) {
        return kp_error_set(error, KP_SYSTEM, "%s: is not a plain file, so no plot is put in its place", path);
    }

    /* The temporary file stands in the same folder, so that rename can replace an older picture in one step. */
    size_t size = strlen(path) + sizeof ".XXXXXX";
    char *temporary = malloc(size);
    if (temporary == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a file name of %zu bytes", size);
    }

    snprintf(temporary, size, "%s.XXXXXX", path);

    int file = mkstemp(temporary);
    if (file < 0) {
        kp_status failed = kp_error_set(error, KP_SYSTEM, "%s: cannot be written: %s", path, strerror(errno));
        free(temporary);
        return failed;
    }

    fcntl(file, F_SETFD, FD_CLOEXEC);

    /* Only a complete picture takes the place of an older one. */
    kp_status status = draw_into(figure, kind, file, error);
    status = put_in_place(file, temporary, path, status, error);
    if (status != KP_OK) {
        unlink(temporary);
        kp_error_prefix(error, "%s: ", path);
    }

    free(temporary);
    return status;
}

/* Removes what gnuplot adds to a page: form feeds, blanks at line ends, empty lines at the top and bottom. */
static void tidy_page(kp_draw_text *page)
{
    size_t kept = 0;

    for (size_t i = 0; i < page->length; i++) {
        char letter = page->data[i];
        if (letter == '\f') {
            continue;
        }

        if (letter == '\n') {
            while (kept > 0 && page->data[kept - 1] == ' ') {
                kept--;
            }
            if (kept == 0) {
                continue; /* an empty line above the title */
            }
        }

        page->data[kept++] = letter;
    }

    /* One line end at the end of the page. */
    while (kept > 1 && page->data[kept - 1] == '\n' && page->data[kept - 2] == '\n') {
        kept--;
    }

    page->data[kept] = '\0';
    page->length = kept;
}

kp_status kp_figure_text(const kp_figure *figure, int columns, int lines, char **text, kp_error *error)
{
    if (columns < 20 || lines < 10) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "a plot needs at least 20 columns and 10 lines, not %d and %d",
                            columns, lines);
    }

    kp_draw_text script = {0};
    kp_draw_text page = {0};
    kp_canvas canvas = {.kind = KP_CANVAS_DUMB, .width = columns, .height = lines};
    kp_script_write(&script, figure, &canvas);

    kp_status status = kp_gnuplot_run(&script, (kp_gnuplot_output){.file = -1, .text = &page}, error);
    kp_draw_text_free(&script);

    /* gnuplot may end well and draw nothing. */
    if (status == KP_OK && page.length == 0) {
        status = kp_error_set(error, KP_SYSTEM, "gnuplot drew nothing");
    }
    if (status != KP_OK) {
        kp_draw_text_free(&page);
        return status;
    }

    tidy_page(&page);
    *text = page.data;
    return KP_OK;
}

/* Finds a window terminal that this gnuplot was built with. name: NULL when there is none. */
static kp_status find_window(const char **name, kp_error *error)
{
    static const char *const windows[] = {"qt", "wxt", "x11", "aqua"}; /* in order of preference */
    kp_draw_text script = {0};
    kp_draw_text names = {0};

    /* gnuplot lists its terminals in a variable, separated by blanks. */
    kp_draw_text_add(&script, "set print '-'\nprint ' '.GPVAL_TERMINALS.' '\n");
    kp_status status = kp_gnuplot_run(&script, (kp_gnuplot_output){.file = -1, .text = &names}, error);

    /* The first of the preferred terminals that is in the list. */
    *name = NULL;
    for (size_t i = 0; status == KP_OK && *name == NULL && i < sizeof windows / sizeof windows[0]; i++) {
        char word[16];

        snprintf(word, sizeof word, " %s ", windows[i]);
        if (names.length > 0 && strstr(names.data, word) != NULL) {
            *name = windows[i];
        }
    }

    kp_draw_text_free(&script);
    kp_draw_text_free(&names);
    return status;
}

kp_status kp_figure_window(const kp_figure *figure, bool *opened, kp_error *error)
{
    const char *name;
    kp_status status = find_window(&name, error);
    if (status != KP_OK || name == NULL) {
        if (status == KP_OK) {
            *opened = false;
        }
        return status;
    }

    kp_draw_text script = {0};
    kp_canvas canvas = kp_canvas_for(figure, KP_CANVAS_WINDOW);

    canvas.window_name = name;
    kp_script_write(&script, figure, &canvas);
    status = kp_gnuplot_run(&script, (kp_gnuplot_output){.file = -1}, error);
    kp_draw_text_free(&script);

    if (status == KP_OK) {
        *opened = true;
    }
    return status;
}
