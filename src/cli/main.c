/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The program: command table, start, end. */
#include "cli/commands.h"
#include "cli/print.h"
#include "file/file.h"
#include "num/num.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const kp_command kp_commands[] = {
    {"new", KP_NEW, "", "print a damper file to start from, with how to measure each size",
     "Sizes that are not given are typical for the bore and marked `assumed`. Put the file where you want it:\n"
     "kneepoint new --bore 2in --shaft 5/8in --piston digressive --reservoir > mine.yaml",
     0, 0, kp_cmd_new},
    {"check", KP_CHECK, "FILE...", "say everything that is wrong or risky in a damper's file",
     "Reads the file, works out its curve, and looks for shims that would set or break and for oil that would\n"
     "cavitate at the speeds asked for. Exit status 0: none of that; 1: the answer is no.",
     1, KP_MAX_FILES, kp_cmd_check},
    {"lift", KP_LIFT, "FILE", "lift and stress of one shim stack against pressure",
     "Lifts are those of the face shim, the one on the seat, measured from the clamp plane: seat lift at the land's\n"
     "inner edge, edge lift at its rim. Below cracking the seat holds the shim and the opening is 0. Beside them\n"
     "stands the lift that small-deflection theory, the handbook's, would give.",
     1, 1, kp_cmd_lift},
    {"curve", KP_CURVE, "FILE", "force against shaft speed, compression and rebound",
     "Damping is the force of oil and friction; the gas force stands beside it (--with-gas: in it). Force is positive\n"
     "when it resists compression. Speeds are given without sign; the direction is given in words. Points where a shim "
     "would set or break, or the oil would\n"
     "cavitate, are marked ! and said in words.",
     1, 1, kp_cmd_curve},
    {"compare", KP_COMPARE, "FILE FILE...", "what differs in the parts, and what that does at each speed",
     "Every further file is compared with the first. The change is that of the damping force, gas force left out as\n"
     "on most dynos: + is firmer, - is softer, in both directions. --set holds for every file.",
     2, KP_STYLE_COUNT, kp_cmd_compare}, /* as many as a plot keeps apart */
    {"explain", KP_EXPLAIN, "FILE", "why the curve has its shape, and the effect of each part",
     "Says in plain words why each direction is as it is at low speed, what would soften it, and where the knee is;\n"
     "then which path takes the oil and the work at each speed, and the effect of every shim, bleed port, the clamp "
     "and\n"
     "the dish: each change is a run of its own. --lesson teaches one thing on the damper of the file.",
     1, 1, kp_cmd_explain},
    {"band", KP_BAND, "FILE", "how far builds of this damper scatter, and why",
     "Samples builds whose strip, holes, land, clamp, dish, grip, coefficients, oil temperature and charge scatter "
     "within\n"
     "their tolerances, and says between what limits 95 of 100 of them lie, and what share each cause has. A "
     "tolerance\n"
     "in the file (dish: 0.40 mm +/- 0.03 mm) takes the place of the default. Ctrl-C reports what was sampled by then.",
     1, 1, kp_cmd_band},
    {"completion", KP_COMPLETION, "SHELL", "print what makes a shell complete commands and options",
     "SHELL is bash, zsh or fish. The first line of what is printed says where it belongs.", 0, 1, kp_cmd_completion},
    {NULL, 0, NULL, NULL, NULL, 0, 0, NULL},
};

static void print_help(void)
{
    printf("%sKneepoint%s turns a shim stack and its bleed ports into the damping curve they will make.\n\n"
           "  kneepoint COMMAND FILE [OPTION...]\n\n",
           kp_bold(false), kp_plain(false));

    for (const kp_command *command = kp_commands; command->name != NULL; command++) {
        printf("  %s%-10s%s %s\n", kp_bold(false), command->name, kp_plain(false), command->purpose);
    }

    printf("\n  kneepoint COMMAND --help    what a command does and takes\n"
           "  kneepoint help file         every key of a damper file, and how to measure it\n"
           "  kneepoint --version\n\n"
           "To begin with: kneepoint new > mine.yaml; kneepoint check mine.yaml; kneepoint curve mine.yaml --plot\n"
           "Examples: " KP_EXAMPLES "\n\n"
           "Exit status: 0 done, 1 the answer is no, 2 usage, 3 input, 4 no solution, 5 system.\n"
           "Every force is an estimate until it is calibrated against a measured run. Work on a charged damper is\n"
           "for licensed practice, within the maker's limits.\n");
}

static void print_command_help(const kp_command *command)
{
    char options[4096];

    kp_options_describe(command, options, sizeof options);
    printf("%skneepoint %s %s [OPTION...]%s\n  %s\n\n%s\n\n%s", kp_bold(false), command->name, command->operand,
           kp_plain(false), command->purpose, command->details, options);
    if ((command->bit & (KP_CURVE | KP_COMPARE | KP_CHECK | KP_EXPLAIN)) != 0) {
        kp_speed_limits limits = kp_speed_limits_default();
        printf("\nWithout --limits: low speed ends at %g, high speed begins at %g, the range ends at %g m/s.\n",
               limits.low, limits.high, limits.top);
    }
}

/* The manual of damper files: for people, or as a page for man. */
static kp_status print_file_manual(bool man, kp_error *error)
{
    char *text = NULL;
    kp_status status = kp_manual_write(man, &text, error);
    if (status == KP_OK) {
        printf("%s", text);
        if (!man) {
            printf("\nExamples and a JSON Schema for editors: %s\n", KP_EXAMPLES);
        }
    }
    free(text);
    return status;
}

static const kp_command *find_command(const char *name)
{
    for (const kp_command *command = kp_commands; command->name != NULL; command++) {
        if (strcmp(command->name, name) == 0) {
            return command;
        }
    }
    return NULL;
}

static kp_status unknown_command(const char *word, kp_error *error)
{
    const char *names[16];
    size_t count = 0;

    for (const kp_command *command = kp_commands; command->name != NULL && count < 16; command++) {
        names[count++] = command->name;
    }

    /* With the nearest name, when one is near. */
    char shown[KP_TEXT_SHOWN];
    kp_text_show(word, shown, sizeof shown);
    const char *nearest = kp_text_nearest(word, names, count);
    return kp_error_set(error, KP_USAGE, "`%s` is not a command%s%s%s", shown,
                        nearest != NULL ? " (did you mean `" : "", nearest != NULL ? nearest : "",
                        nearest != NULL ? "`?)" : "");
}

static kp_status run_command(const kp_command *command, int argument_count, char **arguments, kp_error *error)
{
    kp_options options = {.commands = kp_commands};
    bool help = false;
    kp_status status = kp_options_read(command, argument_count, arguments, &options, &help, error);
    if (status == KP_OK && help) {
        print_command_help(command);
    } else if (status == KP_OK) {
        status = command->run(&options, error);
    }

    return status;
}

static kp_status run(int argument_count, char **arguments, const char **command_name, kp_error *error)
{
    const char *word = argument_count > 1 ? arguments[1] : NULL;
    if (word == NULL) {
        return kp_error_set(error, KP_USAGE, "a command is wanted: new, check, lift, curve, compare, explain or band");
    }
    if (strcmp(word, "--version") == 0) {
        printf("kneepoint %s\nGSL %s, libyaml %s, cJSON %s\n", KP_VERSION, kp_num_gsl_version(), kp_file_yaml_version(),
               kp_report_json_version());
        return KP_OK;
    }

    /* Help is an answer, and goes to standard output. */
    bool help = strcmp(word, "help") == 0;
    if (help && argument_count > 2 && strcmp(arguments[2], "file") == 0) {
        return print_file_manual(argument_count > 3 && strcmp(arguments[3], "--man") == 0, error);
    }
    if (help && argument_count > 2) {
        const kp_command *asked = find_command(arguments[2]);
        if (asked == NULL) {
            return unknown_command(arguments[2], error);
        }
        print_command_help(asked);
        return KP_OK;
    }

    if (help || strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
        print_help();
        return KP_OK;
    }

    /* A word that begins with a dash is an option in the wrong place, not a misspelt command. */
    const kp_command *command = find_command(word);
    if (command == NULL) {
        return word[0] == '-'
                   ? kp_error_set(error, KP_USAGE, "the command comes first: kneepoint COMMAND FILE %.40s", word)
                   : unknown_command(word, error);
    }

    *command_name = command->name;
    return run_command(command, argument_count - 1, arguments + 1, error);
}

/* A descriptor that is closed would be given to the next file opened, and our answer would be written into it. The
   stand-in cannot be written to, so that a closed standard output is still an error. */
static void hold_standard_descriptors(void)
{
    for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; descriptor++) {
        if (fcntl(descriptor, F_GETFD) == -1 && errno == EBADF) {
            (void)!open("/dev/null", descriptor == STDERR_FILENO ? O_WRONLY : O_RDONLY);
        }
    }
}

/* What was printed may sit in a buffer; a full disk shows only here. */
static kp_status close_stdout(kp_error *error)
{
    bool bad = ferror(stdout) != 0;

    errno = 0;
    bad = fclose(stdout) != 0 || bad;
    if (!bad) {
        return KP_OK;
    }

    if (errno == EPIPE) {
        /* the reader (head, a pager) has closed its end: no message, but not success either */
        if (error->message[0] != '\0') {
            error->message[0] = '\0';
        }
        error->status = KP_SYSTEM;
        return KP_SYSTEM;
    }

    return kp_error_set(error, KP_SYSTEM, "the answer could not be written to standard output: %s",
                        errno != 0 ? strerror(errno) : "an earlier write failed");
}

int main(int argument_count, char **arguments)
{
    kp_error error = {0};
    const char *command_name = NULL;

    hold_standard_descriptors();
    signal(SIGPIPE, SIG_IGN); /* a gnuplot that dies must be a sentence, not our end */
    signal(SIGXFSZ, SIG_IGN); /* so must a file that grows too large */

    kp_status status = run(argument_count, arguments, &command_name, &error);
    if (status != KP_OK && error.message[0] != '\0') {
        kp_print_error(command_name, error.message);
        if (status == KP_USAGE) {
            fprintf(stderr, "Try `kneepoint %s%s--help`.\n", command_name != NULL ? command_name : "",
                    command_name != NULL ? " " : "");
        }
    }

    /* Closing standard output can fail too, but does not hide an earlier failure. */
    kp_error closing = {0};
    kp_status closed = close_stdout(&closing);
    if (closed != KP_OK) {
        if (closing.message[0] != '\0') {
            kp_print_error(command_name, closing.message);
        }
        status = status == KP_OK ? closed : status;
    }

    return kp_status_exit(status);
}
