/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The gnuplot process: script in by a pipe, picture out to a file of ours, complaints read back.
    gnuplot opens no file itself: a failed `set output` would pour the picture into our own standard output, and it ends
    with 0 when the disk is full. */
#include "draw/draw_internal.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

extern char **environ; /* handed on: gnuplot needs PATH and DISPLAY */

static const int GNUPLOT_PATIENCE = 60; /* [s] a picture takes 0.2 s; one that hangs must not hang us */

enum { SCRIPT_PIPE, OUTPUT_PIPE, COMPLAINT_PIPE, PIPE_COUNT };

typedef struct kp_pipes {
    int ends[PIPE_COUNT][2]; /* [0] read, [1] write; -1 = not open */
} kp_pipes;

static void close_end(int *end)
{
    if (*end >= 0) {
        close(*end);
    }
    *end = -1;
}

static void pipes_close(kp_pipes *pipes)
{
    for (int i = 0; i < PIPE_COUNT; i++) {
        close_end(&pipes->ends[i][0]);
        close_end(&pipes->ends[i][1]);
    }
}

static kp_status pipes_open(kp_pipes *pipes, kp_error *error)
{
    memset(pipes->ends, -1, sizeof pipes->ends);
    for (int i = 0; i < PIPE_COUNT; i++) {
        if (pipe(pipes->ends[i]) != 0) {
            int reason = errno;
            pipes_close(pipes);
            return kp_error_set(error, KP_SYSTEM, "cannot open a pipe to gnuplot: %s", strerror(reason));
        }
        for (int end = 0; end < 2; end++) {
            fcntl(pipes->ends[i][end], F_SETFD, FD_CLOEXEC);
        }
    }
    return KP_OK;
}

/* The environment for gnuplot: ours, in a locale of UTF-8 and of decimal points. Under C, which is what a bare machine
   has, gnuplot complains that it cannot write its degree sign. NULL when memory ran out; free what comes back. */
static char **environment_in_utf8(void)
{
    static const char locale[] = "LC_ALL=C.UTF-8";
    size_t count = 0;
    while (environ != NULL && environ[count] != NULL) {
        count++;
    }
    char **copy = calloc(count + 2, sizeof *copy);
    if (copy == NULL) {
        return NULL;
    }
    size_t used = 0;
    copy[used++] = (char *)locale; /* nobody writes there */
    for (size_t i = 0; i < count; i++) {
        if (strncmp(environ[i], "LC_ALL=", strlen("LC_ALL=")) != 0) {
            copy[used++] = environ[i];
        }
    }
    return copy;
}

/* Starts the process; returns 0 or an errno. */
static int start(const kp_pipes *pipes, kp_gnuplot_output output, pid_t *process)
{
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    sigset_t defaults;
    char name[] = "gnuplot";
    char no_settings[] = "-d"; /* the user's own gnuplot settings must not change our pictures */
    char *arguments[] = {name, no_settings, NULL};

    sigemptyset(&defaults);
    sigaddset(&defaults, SIGPIPE); /* we ignore it; gnuplot should have it as usual */
    int failure = posix_spawn_file_actions_init(&actions);
    if (failure != 0) {
        return failure;
    }
    failure = posix_spawnattr_init(&attributes);
    if (failure != 0) {
        posix_spawn_file_actions_destroy(&actions);
        return failure;
    }
    failure = posix_spawn_file_actions_adddup2(&actions, pipes->ends[SCRIPT_PIPE][0], STDIN_FILENO);
    bool window = output.file < 0 && output.text == NULL;
    if (failure == 0 && window) {
        /* The window's process outlives gnuplot and would keep our pipes open. */
        failure = posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
        if (failure == 0) {
            failure = posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
        }
    } else if (failure == 0) {
        int target = output.file >= 0 ? output.file : pipes->ends[OUTPUT_PIPE][1];
        failure = posix_spawn_file_actions_adddup2(&actions, target, STDOUT_FILENO);
        if (failure == 0) {
            failure = posix_spawn_file_actions_adddup2(&actions, pipes->ends[COMPLAINT_PIPE][1], STDERR_FILENO);
        }
    }
    if (failure == 0) {
        failure = posix_spawnattr_setsigdefault(&attributes, &defaults);
    }
    if (failure == 0) {
        failure = posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGDEF);
    }
    if (failure == 0) {
        char **environment = environment_in_utf8();
        failure =
            environment == NULL ? ENOMEM : posix_spawnp(process, name, &actions, &attributes, arguments, environment);
        free(environment);
    }
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&actions);
    return failure;
}

static void read_some(int *end, kp_draw_text *text)
{
    char bytes[4096];
    ssize_t count = read(*end, bytes, sizeof bytes);
    if (count > 0) {
        kp_draw_text_bytes(text, bytes, (size_t)count);
    } else if (count == 0 || (errno != EINTR && errno != EAGAIN)) {
        close_end(end);
    }
}

static void write_some(int *end, const kp_draw_text *script, size_t *written)
{
    ssize_t count = write(*end, script->data + *written, script->length - *written);
    if (count > 0) {
        *written += (size_t)count;
    }
    bool gone = count < 0 && errno != EINTR && errno != EAGAIN; /* it died: its complaint says why */
    if (gone || *written == script->length) {
        close_end(end);
    }
}

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Feeds and reads until gnuplot closed its ends; false when its time ran out. */
static bool converse(kp_pipes *pipes, const kp_draw_text *script, kp_draw_text *output, kp_draw_text *complaint)
{
    size_t written = 0;
    double deadline = seconds_now() + GNUPLOT_PATIENCE;
    int *script_end = &pipes->ends[SCRIPT_PIPE][1];
    int *output_end = &pipes->ends[OUTPUT_PIPE][0];
    int *complaint_end = &pipes->ends[COMPLAINT_PIPE][0];
    fcntl(*script_end, F_SETFL, O_NONBLOCK); /* a full pipe must not stop us reading complaints */
    while (*script_end >= 0 || *output_end >= 0 || *complaint_end >= 0) {
        double left = deadline - seconds_now();
        if (left <= 0.0) {
            return false;
        }
        /* poll() skips a negative descriptor */
        struct pollfd ends[PIPE_COUNT] = {
            {*script_end, POLLOUT, 0}, {*output_end, POLLIN, 0}, {*complaint_end, POLLIN, 0}};
        if (poll(ends, PIPE_COUNT, (int)(left * 1000.0) + 1) < 0 && errno != EINTR) {
            return false;
        }
        if (ends[SCRIPT_PIPE].revents != 0) {
            write_some(script_end, script, &written);
        }
        if (ends[OUTPUT_PIPE].revents != 0) {
            read_some(output_end, output);
        }
        if (ends[COMPLAINT_PIPE].revents != 0) {
            read_some(complaint_end, complaint);
        }
    }
    return true;
}

/* The first line of the complaint that is about our script. Notes of the font libraries are not: the picture comes. */
static void first_complaint(const kp_draw_text *complaint, char *line, size_t size)
{
    line[0] = '\0';
    const char *start_of_line = complaint->data;
    while (start_of_line != NULL && *start_of_line != '\0') {
        size_t length = strcspn(start_of_line, "\n");
        size_t blank = strspn(start_of_line, " \t\r");
        snprintf(line, size, "%.*s", (int)(length > blank ? length - blank : 0), start_of_line + blank);
        bool pointer_only = strspn(line, "^ ") == strlen(line); /* gnuplot marks the column with ^ */
        if (!pointer_only && strstr(line, "Fontconfig") == NULL && strstr(line, "Pango") == NULL) {
            return;
        }
        line[0] = '\0';
        start_of_line += length + (start_of_line[length] == '\n');
    }
}

static kp_status judge(int outcome, const kp_draw_text *complaint, kp_error *error)
{
    char line[300];
    first_complaint(complaint, line, sizeof line);
    if (WIFSIGNALED(outcome)) {
        return kp_error_set(error, KP_SYSTEM, "gnuplot was ended by signal %d%s%s", WTERMSIG(outcome),
                            line[0] != '\0' ? ": " : "", line);
    }
    int code = WEXITSTATUS(outcome);
    if (code == 0 && line[0] == '\0') {
        return KP_OK;
    }
    if (code == 127 && line[0] == '\0') { /* what posix_spawn says when the program could not be run after all */
        return kp_error_set(error, KP_SYSTEM, "gnuplot could not be started: is it installed?");
    }
    return kp_error_set(error, KP_SYSTEM, "gnuplot failed with exit status %d%s%s", code, line[0] != '\0' ? ": " : "",
                        line);
}

kp_status kp_gnuplot_run(const kp_draw_text *script, kp_gnuplot_output output, kp_error *error)
{
    kp_pipes pipes;
    if (script->failed || script->length == 0) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for the plot's script");
    }
    kp_status status = pipes_open(&pipes, error);
    if (status != KP_OK) {
        return status;
    }
    pid_t process;
    int failure = start(&pipes, output, &process);
    if (failure != 0) {
        pipes_close(&pipes);
        return failure == ENOENT
                   ? kp_error_set(error, KP_SYSTEM,
                                  "gnuplot is not installed or not on the PATH: no plot was drawn (the package is "
                                  "called gnuplot or gnuplot-nox)")
                   : kp_error_set(error, KP_SYSTEM, "gnuplot could not be started: %s", strerror(failure));
    }
    close_end(&pipes.ends[SCRIPT_PIPE][0]);
    close_end(&pipes.ends[OUTPUT_PIPE][1]);
    close_end(&pipes.ends[COMPLAINT_PIPE][1]);
    kp_draw_text complaint = {0};
    kp_draw_text unwanted = {0};
    bool in_time = converse(&pipes, script, output.text != NULL ? output.text : &unwanted, &complaint);
    pipes_close(&pipes);
    if (!in_time) {
        kill(process, SIGKILL);
    }
    int outcome = 0;
    while (waitpid(process, &outcome, 0) < 0 && errno == EINTR) {
    }
    status = in_time ? judge(outcome, &complaint, error)
                     : kp_error_set(error, KP_SYSTEM, "gnuplot did not finish within %d s and was stopped",
                                    GNUPLOT_PATIENCE);
    if (status == KP_OK && output.text != NULL && output.text->failed) {
        status = kp_error_set(error, KP_NO_MEMORY, "no memory for the plot");
    }
    kp_draw_text_free(&complaint);
    kp_draw_text_free(&unwanted);
    return status;
}
