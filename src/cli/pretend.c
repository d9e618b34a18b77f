/* tareline pretend: a simulated scale on a pseudo-terminal. */
#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/options.h"
#include "files/files.h"
#include "plant/encode.h"
#include "plant/pretend.h"

struct arguments {
    const char *profile, *script, *on, *link;
    mass_pg capacity, division;
    uint64_t seed;
};

static void usage(FILE *to)
{
    fputs("usage: tareline pretend PROFILE [OPTION]...\n\n"
          "A simulated scale. Prints the path of its pseudo-terminal, then takes verbs on standard input, one a line,\n"
          "and answers each with \"ok\" or \"error: ...\". Ends at \"quit\" or a signal; without more input it goes "
          "on.\n\n"
          "  --script FILE     verbs from a file first; \"-\": from standard input, and end with it\n"
          "  --link PATH       keep a symbolic link to the pseudo-terminal\n"
          "  --on TTY          talk on this serial line instead of a pseudo-terminal\n"
          "  --capacity MASS   15 kg unless given\n"
          "  --division MASS   5 g unless given\n"
          "  --seed N          of the noise; 1 unless given\n\nVerbs:\n",
          to);
    fputs(verb_forms(), to);
}

static int wrong(const char *what)
{
    fprintf(stderr, "tareline pretend: %s; tareline pretend --help lists the options\n", what);
    return EXIT_USAGE;
}

static int wrong_value(const char *what, const char *value)
{
    fprintf(stderr, "tareline pretend: %s \"%s\"; tareline pretend --help lists the options\n", what, value);
    return EXIT_USAGE;
}

static bool read_positive(const char *text, mass_pg *out)
{
    return mass_parse(text, strlen(text), out) == FAIL_NONE && *out > 0;
}

/* One option; an exit code, or -1 to go on. */
static int take_option(int option, struct arguments *a)
{
    switch (option) {
    case 's':
        a->script = optarg;
        return -1;
    case 'l':
        a->link = optarg;
        return -1;
    case 'o':
        a->on = optarg;
        return -1;
    case 'c':
        return read_positive(optarg, &a->capacity) ? -1
                                                   : wrong_value("--capacity wants a mass such as 15 kg, not", optarg);
    case 'd':
        return read_positive(optarg, &a->division) ? -1
                                                   : wrong_value("--division wants a mass such as 5 g, not", optarg);
    case 'n':
        return option_whole(optarg, 0, UINT64_MAX, &a->seed) ? -1
                                                             : wrong_value("--seed wants a whole number, not", optarg);
    case 'h':
        usage(stdout);
        return EXIT_DONE;
    default:
        return wrong(option_wrong(option));
    }
}

static int read_arguments(int argc, char **argv, struct arguments *a)
{
    static const struct option options[] = {
        {"script", required_argument, NULL, 's'},   {"link", required_argument, NULL, 'l'},
        {"on", required_argument, NULL, 'o'},       {"capacity", required_argument, NULL, 'c'},
        {"division", required_argument, NULL, 'd'}, {"seed", required_argument, NULL, 'n'},
        {"help", no_argument, NULL, 'h'},           {NULL, 0, NULL, 0},
    };
    *a = (struct arguments){.capacity = 15 * PG_PER_KG, .division = 5 * PG_PER_G, .seed = 1};
    int option, code;
    while ((option = option_next(argc, argv, options)) != -1)
        if ((code = take_option(option, a)) >= 0)
            return code;
    if (optind >= argc)
        return wrong("a scale profile is wanted");
    if (optind + 1 < argc)
        return wrong_value("one profile is enough, unexpected", argv[optind + 1]);
    a->profile = argv[optind];
    if (a->capacity < 10 * a->division || a->capacity > 5000 * PG_PER_KG)
        return wrong("--capacity must be at least 10 of --division, and at most 5,000 kg");
    if (a->on && a->link)
        return wrong_value("--link goes with a pseudo-terminal, not with --on", a->on);
    return -1;
}

static bool read_profile(const char *name, struct profile *out, struct file_text *text, struct faults *f)
{
    char path[FILE_PATH];
    if (!file_find("scales", name, path, f) || !file_read(path, text, f) || !profile_read(text, out, f))
        return false;
    if (out->form != FORM_LINES)
        faults_add(f, path, 0,
                   "reports and registers can't be pretended on a line; give a profile with a [line] section");
    return out->form == FORM_LINES;
}

/* Every line of a script is looked at before the scale is switched on. */
static bool read_script(const char *path, struct file_text *text, struct faults *f)
{
    struct source s;
    char line[VERB_LINE], why[VERB_WHY];
    bool too_long;
    if (!file_read(path, text, f))
        return false;
    source_script(&s, text->text, path);
    while (source_next(&s, line, &too_long)) {
        struct verb v;
        if (too_long)
            faults_add(f, path, s.line, "the line is longer than %d bytes", VERB_LINE - 1);
        else if (!verb_parse(line, &v, why))
            faults_add(f, path, s.line, "%s", why);
    }
    return f->count == 0;
}

static int run(const struct arguments *a, const struct profile *profile, const char *script)
{
    struct pretend_spec spec = {
        .profile = profile,
        .plant = plant_usual(a->capacity, a->division, encode_unit(profile)),
        .seed = a->seed,
        .on = a->on,
        .link = a->link,
        .script = script,
        .script_name = a->script,
        .ends = a->script && !script,
    };
    char why[WIRE_WHY];
    if (!pretend_fits(profile, &spec.plant, why)) {
        fprintf(stderr, "tareline pretend: %s\n", why);
        return EXIT_USAGE;
    }
    if (pretend_run(&spec, why) == PRETEND_DONE)
        return EXIT_DONE;
    fprintf(stderr, "tareline pretend: %s\n", why);
    return EXIT_DEVICE;
}

int cmd_pretend(int argc, char **argv)
{
    static struct faults faults;
    static struct file_text profile_text, script_text; /* too large for the stack */
    struct arguments a;
    struct profile profile;
    int code = read_arguments(argc, argv, &a);
    if (code >= 0)
        return code;
    bool from_file = a.script && strcmp(a.script, "-") != 0;
    /* Both are read whatever comes of the first: every fault is said in one run. */
    bool fine = read_profile(a.profile, &profile, &profile_text, &faults);
    if (from_file)
        fine = read_script(a.script, &script_text, &faults) && fine;
    if (!fine) {
        faults_print(&faults, stderr);
        return EXIT_FILE;
    }
    return run(&a, &profile, from_file ? script_text.text : NULL);
}
