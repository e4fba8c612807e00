/* SPDX-License-Identifier: GPL-3.0-or-later */
/** `completion`: a shell's script that completes commands and options, written from their tables. */
#include "cli/commands.h"
#include "cli/option_table.h"

#include <stdio.h>
#include <string.h>

/** First line of a help text between single quotes; `drop`: signs with a meaning to the shell, left out. */
static void print_words(const char *text, const char *drop)
{
    for (; *text != '\0' && *text != '\n'; text++) {
        if (*text != '\'' && strchr(drop, *text) == NULL) {
            putchar(*text);
        }
    }
}

static bool takes(const kp_command *command, const kp_option_row *row)
{
    return (row->commands & command->bit) != 0;
}

/* ---- bash ------------------------------------------------------------------------------------------------------ */

static void print_bash(const kp_command *commands)
{
    printf("# kneepoint completion bash > ~/.local/share/bash-completion/completions/kneepoint\n"
           "_kneepoint() {\n"
           "    local word=\"${COMP_WORDS[COMP_CWORD]}\" options=\"\"\n"
           "    COMPREPLY=()\n"
           "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
           "        COMPREPLY=($(compgen -W \"help");
    for (const kp_command *command = commands; command->name != NULL; command++) {
        printf(" %s", command->name);
    }
    printf("\" -- \"$word\"))\n        return\n    fi\n    case \"${COMP_WORDS[1]}\" in\n");

    for (const kp_command *command = commands; command->name != NULL; command++) {
        printf("    %s) options=\"", command->name);
        const char *between = "";
        for (const kp_option_row *row = kp_option_rows; row->name != NULL; row++) {
            if (takes(command, row)) {
                printf("%s--%s", between, row->name);
                between = " ";
            }
        }
        printf("\" ;;\n");
    }

    printf("    esac\n"
           "    case \"$word\" in\n"
           "    -*) COMPREPLY=($(compgen -W \"$options\" -- \"$word\")) ;;\n"
           "    *) COMPREPLY=($(compgen -f -X '!*.y*ml' -- \"$word\") $(compgen -d -- \"$word\")) ;;\n"
           "    esac\n"
           "}\n"
           "complete -o filenames -F _kneepoint kneepoint\n");
}

/* ---- zsh ------------------------------------------------------------------------------------------------------- */

static void print_zsh_options(const kp_command *command)
{
    printf("    %s) options=(", command->name);
    for (const kp_option_row *row = kp_option_rows; row->name != NULL; row++) {
        if (takes(command, row)) {
            bool optional = row->argument != NULL && row->argument[0] == '[';
            printf("\n        '--%s%s[", row->name, optional ? "=-" : row->argument != NULL ? "=" : "");
            print_words(row->help, "[]:\\");
            printf("]%s'", optional ? "::value:_files" : row->argument != NULL ? ":value: " : "");
        }
    }
    printf(") ;;\n");
}

static void print_zsh(const kp_command *commands)
{
    printf("#compdef kneepoint\n"
           "# kneepoint completion zsh > a folder of $fpath, as _kneepoint\n"
           "_kneepoint() {\n"
           "    local -a commands options\n"
           "    commands=('help:what a command does, or every key of a file'");
    for (const kp_command *command = commands; command->name != NULL; command++) {
        printf("\n        '%s:", command->name);
        print_words(command->purpose, ":\\");
        printf("'");
    }
    printf(")\n"
           "    if (( CURRENT == 2 )); then\n"
           "        _describe command commands\n"
           "        return\n"
           "    fi\n"
           "    case $words[2] in\n");
    for (const kp_command *command = commands; command->name != NULL; command++) {
        print_zsh_options(command);
    }
    printf("    esac\n"
           "    shift words\n"
           "    (( CURRENT-- ))\n"
           "    _arguments $options '*:damper file:_files -g \"*.y(a|)ml\"'\n"
           "}\n"
           "compdef _kneepoint kneepoint\n");
}

/* ---- fish ------------------------------------------------------------------------------------------------------ */

static void print_fish(const kp_command *commands)
{
    printf(
        "# kneepoint completion fish > ~/.config/fish/completions/kneepoint.fish\n"
        "complete -c kneepoint -n __fish_use_subcommand -f -a help -d 'what a command does, or every key of a file'\n");
    for (const kp_command *command = commands; command->name != NULL; command++) {
        printf("complete -c kneepoint -n __fish_use_subcommand -f -a %s -d '", command->name);
        print_words(command->purpose, "\\");
        printf("'\n");
        for (const kp_option_row *row = kp_option_rows; row->name != NULL; row++) {
            if (takes(command, row)) {
                bool needed = row->argument != NULL && row->argument[0] != '[';
                printf("complete -c kneepoint -n '__fish_seen_subcommand_from %s' -l %s%s -d '", command->name,
                       row->name, needed ? " -x" : "");
                print_words(row->help, "\\");
                printf("'\n");
            }
        }
    }
}

kp_status kp_cmd_completion(kp_options *options, kp_error *error)
{
    static const struct {
        const char *shell;
        void (*print)(const kp_command *commands);
    } shells[] = {{"bash", print_bash}, {"zsh", print_zsh}, {"fish", print_fish}};
    const char *asked = options->request.file_count > 0 ? options->request.files[0] : "";

    for (size_t i = 0; i < sizeof shells / sizeof shells[0]; i++) {
        if (strcmp(shells[i].shell, asked) == 0) {
            shells[i].print(options->commands);
            return KP_OK;
        }
    }
    char shown[KP_TEXT_SHOWN];
    kp_text_show(asked, shown, sizeof shown);
    return kp_error_set(error, KP_USAGE, "`%s`: bash, zsh or fish is wanted", shown);
}
