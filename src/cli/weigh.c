/* tareline weigh: arguments into struct weigh_arguments. */
#include <getopt.h>
#include <stdio.h>
#include <unistd.h>

#include "cli/commands.h"
#include "cli/options.h"
#include "station/station.h"

static const char help[] =
    "usage: tareline weigh FORMULA [OPTION]...\n"
    "       tareline weigh --replay FILE [--plain|--json]\n"
    "\n"
    "Walks a person through a batch: every ingredient to its target, over and under caught, all of it recorded.\n"
    "FORMULA is a path (with '/' or .ini) or the name of a shipped formula. The same command goes on with a batch\n"
    "that was interrupted.\n"
    "\n"
    "  --station FILE     the plant's station file: scales, people, limits, lots\n"
    "  --scale NAME=PROFILE@DEVICE[,capacity=MASS,division=MASS,class=C]\n"
    "                     a scale (may be given more than once); takes the place of the station file's scales\n"
    "  --meat MASS        the meat is declared, not weighed: 12.5kg, 40 lb\n"
    "  --batches N        so many batches, one after the other; interrupted, the same N goes on to N in all\n"
    "  --person CODE      who weighs: initials or number from the people file (without one it is refused)\n"
    "  --journal FILE     the journal (else TARELINE_JOURNAL, else the user's data folder)\n"
    "  --plain            plain lines instead of the full screen; answers are typed: yes, lot A12, keep REASON\n"
    "  --json             JSON lines, for a program (docs/protocol.md)\n"
    "  --readings         with --json or --plain: every reading too\n"
    "  --capture FILE     writes all input of the run, for --replay\n"
    "  --replay FILE      the same run again from its capture: same words, same journal hashes\n"
    "\n"
    "Exit codes: 0 complete; 1 held, stopped, aborted or paused; 2 usage; 3 a file is wrong; 4 device;\n"
    "5 the journal can't be used.\n";

#define MOST_BATCHES 99

/* Beyond every character: these have no short form. */
enum { O_STATION = 256, O_SCALE, O_MEAT, O_BATCHES, O_PERSON, O_JOURNAL, O_CAPTURE, O_REPLAY };

static int usage(const char *why)
{
    fprintf(stderr, "tareline weigh: %s; tareline weigh --help tells more\n", why);
    return EXIT_USAGE;
}

static const char *take(struct weigh_arguments *a, int option, const char *value)
{
    uint64_t number;
    switch (option) {
    case O_STATION:
        a->station = value;
        return NULL;
    case O_SCALE:
        return option_scale(value, a->scales, &a->scale_count);
    case O_MEAT:
        return option_meat(value, &a->has_meat, &a->meat);
    case O_BATCHES:
        if (!option_whole(value, 1, MOST_BATCHES, &number))
            return "--batches wants a whole number from 1 to 99";
        a->batches = (unsigned)number;
        return NULL;
    case O_PERSON:
        a->person = value;
        return NULL;
    case O_JOURNAL:
        a->journal = value;
        return NULL;
    case O_CAPTURE:
        a->capture = value;
        return NULL;
    case O_REPLAY:
        a->replay = value;
        return NULL;
    default:
        return option_wrong(option);
    }
}

/* *face: of several, the last one given. */
static const char *read_options(int argc, char **argv, struct weigh_arguments *a, int *face, bool *want_help)
{
    const struct option options[] = {
        {"station", required_argument, NULL, O_STATION},
        {"scale", required_argument, NULL, O_SCALE},
        {"meat", required_argument, NULL, O_MEAT},
        {"batches", required_argument, NULL, O_BATCHES},
        {"person", required_argument, NULL, O_PERSON},
        {"journal", required_argument, NULL, O_JOURNAL},
        {"capture", required_argument, NULL, O_CAPTURE},
        {"replay", required_argument, NULL, O_REPLAY},
        {"plain", no_argument, face, SCREEN_PLAIN},
        {"json", no_argument, face, SCREEN_JSON},
        {"readings", no_argument, NULL, 'r'},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    int option;
    while ((option = option_next(argc, argv, options)) != -1) {
        if (option == 0) /* a face, which getopt has put into *face */
            continue;
        if (option == 'h') {
            *want_help = true;
            return NULL;
        }
        if (option == 'r') {
            a->readings = true;
            continue;
        }
        const char *why = take(a, option, optarg);
        if (why)
            return why;
    }
    return NULL;
}

int cmd_weigh(int argc, char **argv)
{
    struct weigh_arguments a = {.batches = 1};
    int face = SCREEN_FULL;
    bool want_help = false;
    const char *why = read_options(argc, argv, &a, &face, &want_help);
    if (why)
        return usage(why);
    if (want_help) {
        fputs(help, stdout);
        return EXIT_DONE;
    }
    /* In a pipe nobody sees a full screen; a replay has no keys to wait for. */
    bool no_screen = a.replay || !isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO);
    a.face = (uint8_t)(face == SCREEN_FULL && no_screen ? SCREEN_PLAIN : face);
    if (argc - optind != (a.replay ? 0 : 1))
        return usage(a.replay ? "--replay takes no formula" : "one formula is wanted");
    a.formula = a.replay ? "" : argv[optind];
    return station_weigh(&a);
}
