/* The table of contents: one line per command. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "screen/text.h"

struct command {
    const char *name;
    int (*run)(int argc, char **argv); /* argv[0] is the command's own name */
    const char *help;
};

static const struct command commands[] = {
    {"weigh", cmd_weigh, "weigh a batch: every ingredient to its target, all of it recorded"},
    {"plan", cmd_plan, "the batch sheet: targets, bands, scales and limits before anything is weighed"},
    {"check", cmd_check, "list every fault of formula, profile, station, people and limits files"},
    {"records", cmd_records, "what the journal holds: list, show, export, verify, rebuild"},
    {"ports", cmd_ports, "list what is plugged in, and find out which of it is which scale"},
    {"listen", cmd_listen, "show what a scale sends and what a profile makes of it"},
    {"pretend", cmd_pretend, "a simulated scale on a pseudo-terminal, told by verbs what happens to it"},
    {NULL, NULL, NULL},
};

static void usage(FILE *to)
{
    fputs("usage: tareline COMMAND [ARGUMENT]...\n\nCommands (each has --help):\n", to);
    for (const struct command *c = commands; c->name; c++)
        fprintf(to, "  %-9s %s\n", c->name, c->help);
    fputs("\nExit codes: 0 done; 1 the answer is no; 2 usage; 3 a file is wrong; 4 device; 5 journal can't be used.\n",
          to);
}

/* A sheet or an export that a full disk cut off must not pass for a whole one. */
static int written(const char *command, int code)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return code;
    fprintf(stderr, "tareline %s: the output could not be written; is there room where it goes?\n", command);
    return code ? code : EXIT_NO;
}

/* Said with what it holds, as far as a terminal can bear it. */
static bool refused(const char *what, const char *value)
{
    char buf[200];
    struct text t;
    text_begin(&t, buf, sizeof buf);
    text_clean(&t, value);
    fprintf(
        stderr,
        "tareline: %s \"%s\" holds bytes that are no text; expected UTF-8 without control or direction characters\n",
        what, buf);
    return false;
}

/* Names and values are quoted in what is said, on terminals and in files that others read: those that could move a terminal
 * go no further than here. */
static bool all_text(int argc, char **argv)
{
    static const char *const variables[] = {"TARELINE_PROFILES", "TARELINE_JOURNAL", "XDG_DATA_HOME", "HOME", "TMPDIR"};
    for (int i = 1; i < argc; i++)
        if (!text_is_clean(argv[i]))
            return refused("an argument", argv[i]);
    for (unsigned i = 0; i < sizeof variables / sizeof *variables; i++) {
        const char *value = getenv(variables[i]);
        if (value && !text_is_clean(value))
            return refused(variables[i], value);
    }
    return true;
}

/* Each command reads its own arguments from argv[1] on, as if it were the program. */
int main(int argc, char **argv)
{
    if (argc < 2) {
        usage(stderr);
        return EXIT_USAGE;
    }
    if (!all_text(argc, argv))
        return EXIT_USAGE;
    if (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h") || !strcmp(argv[1], "help")) {
        usage(stdout);
        return EXIT_DONE;
    }
    for (const struct command *c = commands; c->name; c++)
        if (!strcmp(argv[1], c->name))
            return written(c->name, c->run(argc - 1, argv + 1));
    fprintf(stderr, "tareline: no command \"%s\"; tareline --help lists them\n", argv[1]);
    return EXIT_USAGE;
}
