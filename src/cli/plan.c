/* tareline plan: arguments into struct plan_arguments. */
#include <getopt.h>
#include <stdio.h>

#include "cli/commands.h"
#include "cli/options.h"
#include "station/plan.h"

static const char help[] =
    "usage: tareline plan FORMULA [--meat MASS] [--station FILE] [--scale ...]... [--json]\n"
    "\n"
    "Prints the batch sheet: every target with its band, the scale that fits it, limits and the procedure.\n"
    "FORMULA is a path (with '/' or .ini) or the name of a shipped formula. A formula with basis = planned has its "
    "own\n"
    "mass of meat; any other needs --meat.\n"
    "\n"
    "  --meat MASS        mass of the meat block: 12.5kg, 40 lb\n"
    "  --station FILE     the station file: its scales, and whose law limits regulated ingredients\n"
    "  --scale NAME=PROFILE@DEVICE[,capacity=MASS,division=MASS,class=C]\n"
    "                     a scale (may be given more than once); takes the place of the station file's scales\n"
    "  --json             one JSON object\n"
    "\n"
    "Exit codes: 0 done; 1 a regulated ingredient is beyond its limit, or no scale is fit for it; 2 usage;\n"
    "3 a file is wrong.\n";

enum { O_STATION = 256, O_SCALE, O_MEAT }; /* beyond every character: these have no short form */

static int usage(const char *why)
{
    fprintf(stderr, "tareline plan: %s; tareline plan --help tells more\n", why);
    return EXIT_USAGE;
}

static const char *take(struct plan_arguments *a, int option, const char *value)
{
    switch (option) {
    case O_STATION:
        a->station = value;
        return NULL;
    case O_SCALE:
        return option_scale(value, a->scales, &a->scale_count);
    case O_MEAT:
        return option_meat(value, &a->has_meat, &a->meat);
    case 'j':
        a->json = true;
        return NULL;
    default:
        return option_wrong(option);
    }
}

int cmd_plan(int argc, char **argv)
{
    static const struct option options[] = {
        {"station", required_argument, NULL, O_STATION},
        {"scale", required_argument, NULL, O_SCALE},
        {"meat", required_argument, NULL, O_MEAT},
        {"json", no_argument, NULL, 'j'},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    struct plan_arguments a = {0};
    int option;
    while ((option = option_next(argc, argv, options)) != -1) {
        if (option == 'h') {
            fputs(help, stdout);
            return EXIT_DONE;
        }
        const char *why = take(&a, option, optarg);
        if (why)
            return usage(why);
    }
    if (argc - optind != 1)
        return usage("one formula is wanted");
    a.formula = argv[optind];
    return station_plan(&a);
}
