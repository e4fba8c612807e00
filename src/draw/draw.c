/* SPDX-License-Identifier: GPL-3.0-or-later */
/** Draws a figure into a file, a terminal or a window. */
#include "draw/draw_internal.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/** A file format: how its name ends, how a file of it begins, and how a complete one ends. */
typedef struct kp_picture_kind {
    const char *ending;
    kp_canvas_kind canvas;
    const char *terminal; /* gnuplot's name for it */
    const char *head;     /* first bytes of a file */
    const char *tail;     /* last bytes of a complete file */
    size_t tail_length;
    size_t slack; /* number of bytes that may follow the tail */
} kp_picture_kind;

static const kp_picture_kind picture_kinds[] = {
    {".svg", KP_CANVAS_SVG, "svg", "<?xml", "</svg>", 6, 4},
    {".png", KP_CANVAS_PNG, "pngcairo", "\x89PNG", "IEND\xAE\x42\x60\x82", 8,
     0}, /* ISO/IEC 15948: last chunk and its CRC */
    {".pdf", KP_CANVAS_PDF, "pdfcairo", "%PDF-", "%%EOF", 5, 2},
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

/* gnuplot exits with 0 even when it could not write, so the end of the picture has to show that it is complete. */
static bool picture_is_whole(const kp_draw_text *picture, const kp_picture_kind *kind)
{
    size_t room = kind->tail_length + kind->slack;
    size_t from = picture->length > room ? picture->length - room : 0;

    for (size_t i = from; i + kind->tail_length <= picture->length; i++) {
        if (memcmp(picture->data + i, kind->tail, kind->tail_length) == 0) {
            return true;
        }
    }
    return false;
}

/* Draws the picture and checks that it is complete. */
static kp_status draw_picture(const kp_figure *figure, const kp_picture_kind *kind, kp_draw_text *picture,
                              kp_error *error)
{
    kp_draw_text script = {0};
    kp_canvas canvas = kp_canvas_for(figure, kind->canvas);

    kp_script_write(&script, figure, &canvas);
    kp_status status = kp_gnuplot_run(&script, KP_GNUPLOT_TIME_LIMIT, picture, error);
    kp_draw_text_free(&script);

    /* gnuplot says so when it was built without the library for this format. */
    if (status == KP_SYSTEM && error != NULL && strstr(error->message, "terminal type") != NULL) {
        return kp_error_set(error, KP_SYSTEM, "this gnuplot cannot write %s (it was built without %s)", kind->ending,
                            kind->terminal);
    }

    if (status == KP_OK && !picture_is_whole(picture, kind)) {
        return kp_error_set(error, KP_SYSTEM, "the picture came out of gnuplot cut short");
    }

    return status;
}

/* A picture may only take the place of an older picture of its kind: an input file named by mistake is kept, and so is
   a device or a folder. */
static kp_status check_place(const char *path, const kp_picture_kind *kind, kp_error *error)
{
    struct stat there;
    if (stat(path, &there) != 0) {
        return KP_OK;
    }
    if (!S_ISREG(there.st_mode)) {
        return kp_error_set(error, KP_SYSTEM, "%s: is not a plain file, so no plot is put in its place", path);
    }

    char head[16] = {0};
    int file = open(path, O_RDONLY | O_CLOEXEC);
    ssize_t count = file >= 0 ? read(file, head, sizeof head - 1) : -1;
    if (file >= 0) {
        close(file);
    }

    bool same_kind = count == 0 || (count > 0 && strncmp(head, kind->head, strlen(kind->head)) == 0);
    return same_kind ? KP_OK
                     : kp_error_set(error, KP_SYSTEM,
                                    "%s: is there and is no %s picture, so no plot is put in its place: name another "
                                    "file",
                                    path, kind->ending + 1);
}

static bool write_all(int file, const char *bytes, size_t count)
{
    while (count > 0) {
        ssize_t written = write(file, bytes, count);
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written <= 0) {
            return false;
        }
        bytes += written;
        count -= (size_t)written;
    }
    return true;
}

/* Writes the picture into a temporary file and renames that to path, so that only a complete picture takes the place of
   an older one. temporary: path and ".XXXXXX". */
static kp_status put_in_place(const kp_draw_text *picture, char *temporary, const char *path, kp_error *error)
{
    int file = mkstemp(temporary);
    if (file < 0) {
        return kp_error_set(error, KP_SYSTEM, "%s: cannot be written: %s", path, strerror(errno));
    }

    /* The mode of an ordinary file, because mkstemp makes it 0600. umask can only be read by setting it. */
    mode_t mask = umask(0);
    umask(mask);
    bool good = write_all(file, picture->data, picture->length) && fchmod(file, 0666 & ~mask) == 0;
    int reason = errno;

    /* An error of a delayed write may show only when the file is closed. */
    if (close(file) != 0 && good) {
        good = false;
        reason = errno;
    }
    if (good && rename(temporary, path) != 0) {
        good = false;
        reason = errno;
    }

    if (!good) {
        unlink(temporary);
        return kp_error_set(error, KP_SYSTEM, "%s: cannot be written: %s", path, strerror(reason));
    }
    return KP_OK;
}

/* Puts the picture in its place with the signals held back that would end the program between the beginning of the
   temporary file and its rename, and leave that file behind. They are delivered after it. */
static kp_status put_undisturbed(const kp_draw_text *picture, const char *path, kp_error *error)
{
    size_t size = strlen(path) + sizeof ".XXXXXX";
    char *temporary = malloc(size);
    if (temporary == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for a file name of %zu bytes", size);
    }

    /* In the same folder: only so can rename replace the older picture in one step. */
    snprintf(temporary, size, "%s.XXXXXX", path);

    sigset_t ending, before;
    sigemptyset(&ending);
    sigaddset(&ending, SIGINT);
    sigaddset(&ending, SIGTERM);
    sigaddset(&ending, SIGHUP);
    sigaddset(&ending, SIGQUIT);
    bool held = pthread_sigmask(SIG_BLOCK, &ending, &before) == 0;

    kp_status status = put_in_place(picture, temporary, path, error);

    if (held) {
        pthread_sigmask(SIG_SETMASK, &before, NULL);
    }
    free(temporary);
    return status;
}

kp_status kp_figure_draw(const kp_figure *figure, const char *path, kp_error *error)
{
    const kp_picture_kind *kind = kind_of(path);
    if (kind == NULL) {
        return kp_error_set(error, KP_USAGE, "%s: a plot file ends in .svg, .png or .pdf", path);
    }

    kp_status status = check_place(path, kind, error);
    if (status != KP_OK) {
        return status;
    }

    /* The whole picture is in memory before a file is begun. */
    kp_draw_text picture = {0};
    status = draw_picture(figure, kind, &picture, error);
    if (status != KP_OK) {
        kp_error_prefix(error, "%s: ", path);
    } else {
        status = put_undisturbed(&picture, path, error);
    }

    kp_draw_text_free(&picture);
    return status;
}

/* Removes what gnuplot adds to a page: form feeds and other control characters, blanks at line ends, empty lines at the
 * top and bottom. */
static void tidy_page(kp_draw_text *page)
{
    size_t kept = 0;

    for (size_t i = 0; i < page->length; i++) {
        char letter = page->data[i];
        if ((unsigned char)letter < ' ' && letter != '\n') {
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

    kp_status status = kp_gnuplot_run(&script, KP_GNUPLOT_TIME_LIMIT, &page, error);
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
    kp_status status = kp_gnuplot_run(&script, KP_GNUPLOT_TIME_LIMIT, &names, error);

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
    status = kp_gnuplot_run(&script, KP_GNUPLOT_TIME_LIMIT, NULL, error);
    kp_draw_text_free(&script);

    if (status == KP_OK) {
        *opened = true;
    }
    return status;
}
