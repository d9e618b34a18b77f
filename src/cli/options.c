/* Options: see options.h. What a --scale text means is src/files' business. */
#include "cli/options.h"

#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/capacity.h"
#include "files/faults.h"
#include "files/files.h"

static const char *named; /* the option at hand, as it was given */

int option_next(int argc, char **argv, const struct option *options)
{
    opterr = 0; /* the sentence is ours */
    int option = getopt_long(argc, argv, ":h", options, NULL);
    if (option == -1)
        return -1;
    named = argv[optind - 1];
    bool apart = optarg && optarg == argv[optind - 1];
    if (apart)
        named = argv[optind - 2];
    return apart && !strncmp(optarg, "--", 2) ? ':' : option;
}

const char *option_wrong(int option)
{
    static char why[200];
    snprintf(why, sizeof why, "%s %.150s", option == ':' ? "a value is missing after" : "there is no option", named);
    return why;
}

bool option_whole(const char *text, uint64_t low, uint64_t high, uint64_t *out)
{
    char *end;
    if (*text < '0' || *text > '9') /* strtoull takes " -1" for a large number */
        return false;
    errno = 0;
    unsigned long long n = strtoull(text, &end, 10);
    if (*end || errno || n < low || n > high)
        return false;
    *out = n;
    return true;
}

/* What can be wrong in the argument itself is usage; what the files make of it is theirs to say. */
const char *option_scale(const char *value, const char **scales, uint8_t *count)
{
    static struct station_scale seen[CAP_SCALES];
    static struct faults faults; /* stays: the sentence is in it */
    if (*count == CAP_SCALES)
        return "more --scale than a station has room for";
    memset(&faults, 0, sizeof faults);
    bool good = scale_argument(value, &seen[*count], &faults);
    for (uint8_t k = 0; good && k < *count; k++)
        if (!strcmp(seen[k].name, seen[*count].name)) {
            faults_add(&faults, "--scale", 0, "%s: the name %s is given twice; expected each scale once", value,
                       seen[k].name);
            good = false;
        }
    if (!good) {
        faults.text[strcspn(faults.text, "\n")] = '\0';
        return faults.text;
    }
    scales[(*count)++] = value;
    return NULL;
}

const char *option_meat(const char *value, bool *given, mass_pg *meat)
{
    *given = true;
    enum fail fail = mass_parse(value, strlen(value), meat);
    if (fail == FAIL_RANGE)
        return "--meat is beyond 9223 kg, more than can be reckoned with";
    if (fail != FAIL_NONE || *meat <= 0)
        return "--meat wants a mass above zero with its unit, like 12.5kg or 40 lb";
    return NULL;
}
