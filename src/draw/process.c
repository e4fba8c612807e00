/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The gnuplot process. The script goes in through a pipe; the picture and gnuplot's messages come back through two
   more. gnuplot opens no file itself: when `set output` fails, it writes the picture to our own standard output. */
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

extern char **environ; /* passed on to gnuplot, which needs PATH and DISPLAY */

static const long END_CHECK = 5000000; /* [ns] between two looks whether gnuplot has ended, once its pipes are closed */

enum { SCRIPT_PIPE, OUTPUT_PIPE, MESSAGE_PIPE, PIPE_COUNT };

typedef struct kp_pipes {
    int ends[PIPE_COUNT][2]; /* [0] to read, [1] to write; -1: not open */
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

        /* Other processes of the program must not inherit the ends. */
        for (int end = 0; end < 2; end++) {
            fcntl(pipes->ends[i][end], F_SETFD, FD_CLOEXEC);
        }
    }

    return KP_OK;
}

/* A copy of the environment with the locale C.UTF-8, which has UTF-8 and a decimal point. In the locale C, which a bare
   machine has, gnuplot complains that it cannot write the degree sign. Returned: NULL when memory ran out; the caller
   frees the array only. */
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

    /* The locale's own setting first, then every other variable of the environment. */
    size_t used = 0;
    copy[used++] = (char *)locale; /* posix_spawnp does not write to it */
    for (size_t i = 0; i < count; i++) {
        if (strncmp(environ[i], "LC_ALL=", strlen("LC_ALL=")) != 0) {
            copy[used++] = environ[i];
        }
    }

    return copy;
}

/* Connects gnuplot's standard streams. Returned: 0 or an errno. */
static int connect_streams(posix_spawn_file_actions_t *actions, const kp_pipes *pipes, bool window)
{
    int failure = posix_spawn_file_actions_adddup2(actions, pipes->ends[SCRIPT_PIPE][0], STDIN_FILENO);

    if (failure == 0 && window) {
        /* The process of a window outlives gnuplot and would keep the pipes open. */
        failure = posix_spawn_file_actions_addopen(actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
        if (failure == 0) {
            failure = posix_spawn_file_actions_addopen(actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
        }
    } else if (failure == 0) {
        failure = posix_spawn_file_actions_adddup2(actions, pipes->ends[OUTPUT_PIPE][1], STDOUT_FILENO);
        if (failure == 0) {
            failure = posix_spawn_file_actions_adddup2(actions, pipes->ends[MESSAGE_PIPE][1], STDERR_FILENO);
        }
    }

    return failure;
}

/* gnuplot gets the default action for the signals that the calling program ignores. Returned: 0 or an errno. */
static int restore_signals(posix_spawnattr_t *attributes)
{
    sigset_t defaults;
    sigemptyset(&defaults);
    sigaddset(&defaults, SIGPIPE);
    sigaddset(&defaults, SIGXFSZ);
    int failure = posix_spawnattr_setsigdefault(attributes, &defaults);
    return failure != 0 ? failure : posix_spawnattr_setflags(attributes, POSIX_SPAWN_SETSIGDEF);
}

/* Starts the process. Returned: 0 or an errno. */
static int start(const kp_pipes *pipes, bool window, pid_t *process)
{
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    char name[] = "gnuplot";
    char no_settings[] = "-d"; /* the user's own gnuplot settings must not change the pictures */
    char *arguments[] = {name, no_settings, NULL};

    /* Streams, then signals, then the process itself; each step is taken only when those before it succeeded. */
    int failure = posix_spawn_file_actions_init(&actions);
    if (failure != 0) {
        return failure;
    }

    failure = posix_spawnattr_init(&attributes);
    if (failure != 0) {
        posix_spawn_file_actions_destroy(&actions);
        return failure;
    }

    failure = connect_streams(&actions, pipes, window);
    if (failure == 0) {
        failure = restore_signals(&attributes);
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

/* Appends what is there to text; closes the end at the end of the stream or on an error. */
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

/* Writes as much of the script as the pipe takes; closes the end after the last byte or on an error. */
static void write_some(int *end, const kp_draw_text *script, size_t *written)
{
    ssize_t count = write(*end, script->data + *written, script->length - *written);
    if (count > 0) {
        *written += (size_t)count;
    }

    bool gone = count < 0 && errno != EINTR && errno != EAGAIN; /* gnuplot died; its message says why */
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

/* Writes the script and reads output and messages until gnuplot has closed its ends. Returned: false when the deadline
   passed. */
static bool exchange(kp_pipes *pipes, const kp_draw_text *script, double deadline, kp_draw_text *output,
                     kp_draw_text *messages)
{
    size_t written = 0;
    int *script_end = &pipes->ends[SCRIPT_PIPE][1];
    int *output_end = &pipes->ends[OUTPUT_PIPE][0];
    int *message_end = &pipes->ends[MESSAGE_PIPE][0];

    fcntl(*script_end, F_SETFL, O_NONBLOCK); /* messages must be read even when the script's pipe is full */

    while (*script_end >= 0 || *output_end >= 0 || *message_end >= 0) {
        double left = deadline - seconds_now();
        if (left <= 0.0) {
            return false;
        }

        /* poll() skips a negative descriptor. */
        struct pollfd ends[PIPE_COUNT] = {
            {*script_end, POLLOUT, 0}, {*output_end, POLLIN, 0}, {*message_end, POLLIN, 0}};
        if (poll(ends, PIPE_COUNT, (int)(left * 1000.0) + 1) < 0 && errno != EINTR) {
            return false;
        }

        if (ends[SCRIPT_PIPE].revents != 0) {
            write_some(script_end, script, &written);
        }
        if (ends[OUTPUT_PIPE].revents != 0) {
            read_some(output_end, output);
        }
        if (ends[MESSAGE_PIPE].revents != 0) {
            read_some(message_end, messages);
        }
    }
    return true;
}

/* Waits for a process that has closed its pipes: that is no promise to end. Returned: false when it had to be killed.
 */
static bool collect(pid_t process, double deadline, int *outcome)
{
    const struct timespec pause = {0, END_CHECK};
    pid_t ended = 0;

    while ((ended = waitpid(process, outcome, WNOHANG)) == 0 && seconds_now() < deadline) {
        nanosleep(&pause, NULL);
    }
    if (ended != 0) {
        return true;
    }

    kill(process, SIGKILL);
    while (waitpid(process, outcome, 0) < 0 && errno == EINTR) {
    }
    return false;
}

/* The first message about the script, or an empty line. Notes of the font libraries do not count, because the picture
   is drawn all the same. */
static void first_complaint(const kp_draw_text *messages, char *line, size_t size)
{
    const char *start_of_line = messages->data;
    line[0] = '\0';

    while (start_of_line != NULL && *start_of_line != '\0') {
        size_t length = strcspn(start_of_line, "\n");
        size_t blank = strspn(start_of_line, " \t\r");
        snprintf(line, size, "%.*s", (int)(length > blank ? length - blank : 0), start_of_line + blank);

        /* Skip what is no message of its own. */
        bool pointer_only = strspn(line, "^ ") == strlen(line); /* gnuplot marks the column with ^ */
        if (!pointer_only && strstr(line, "Fontconfig") == NULL && strstr(line, "Pango") == NULL) {
            return;
        }

        line[0] = '\0';
        start_of_line += length + (start_of_line[length] == '\n');
    }
}

/* Turns the wait status and messages of a gnuplot that ended into a status. Any complaint is a failure. */
static kp_status outcome_status(int outcome, const kp_draw_text *messages, kp_error *error)
{
    char line[300];
    first_complaint(messages, line, sizeof line);

    if (WIFSIGNALED(outcome)) {
        return kp_error_set(error, KP_SYSTEM, "gnuplot was ended by signal %d%s%s", WTERMSIG(outcome),
                            line[0] != '\0' ? ": " : "", line);
    }

    /* An exit status of 0 counts as success only without a complaint. */
    int code = WEXITSTATUS(outcome);
    if (code == 0 && line[0] == '\0') {
        return KP_OK;
    }

    if (code == 127 && line[0] == '\0') { /* how posix_spawnp may report that it could not run the program */
        return kp_error_set(error, KP_SYSTEM, "gnuplot could not be started: is it installed?");
    }
    return kp_error_set(error, KP_SYSTEM, "gnuplot failed with exit status %d%s%s", code, line[0] != '\0' ? ": " : "",
                        line);
}

static kp_status start_error(int failure, kp_error *error)
{
    return failure == ENOENT ? kp_error_set(error, KP_SYSTEM,
                                            "gnuplot is not installed or not on the PATH: no plot was drawn (the "
                                            "package is called gnuplot or gnuplot-nox)")
                             : kp_error_set(error, KP_SYSTEM, "gnuplot could not be started: %s", strerror(failure));
}

kp_status kp_gnuplot_run(const kp_draw_text *script, double time_limit, kp_draw_text *output, kp_error *error)
{
    if (script->failed || script->length == 0) {
        return kp_error_set(error, KP_NO_MEMORY, "no memory for the plot's script");
    }

    kp_pipes pipes;
    kp_status status = pipes_open(&pipes, error);
    if (status != KP_OK) {
        return status;
    }

    pid_t process;
    double deadline = seconds_now() + time_limit;
    int failure = start(&pipes, output == NULL, &process);
    if (failure != 0) {
        pipes_close(&pipes);
        return start_error(failure, error);
    }

    /* Close gnuplot's ends here, so that its end of the stream is seen. */
    close_end(&pipes.ends[SCRIPT_PIPE][0]);
    close_end(&pipes.ends[OUTPUT_PIPE][1]);
    close_end(&pipes.ends[MESSAGE_PIPE][1]);

    kp_draw_text messages = {0};
    kp_draw_text discarded = {0};
    bool in_time = exchange(&pipes, script, deadline, output != NULL ? output : &discarded, &messages);
    pipes_close(&pipes);

    /* Collect the process, so that it does not stay as a zombie; one that did not finish in time is not waited for. */
    int outcome = 0;
    in_time = collect(process, in_time ? deadline : 0.0, &outcome) && in_time;

    status = in_time ? outcome_status(outcome, &messages, error)
                     : kp_error_set(error, KP_SYSTEM, "gnuplot did not finish within %g s and was stopped", time_limit);
    if (status == KP_OK && output != NULL && output->failed) {
        status = kp_error_set(error, KP_NO_MEMORY, "no memory for the plot");
    }

    kp_draw_text_free(&messages);
    kp_draw_text_free(&discarded);
    return status;
}
