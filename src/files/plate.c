/* What a scale's plate says: accuracy class, capacity, division; from the station file or from --scale.
 *
 * Classes, in divisions (least load; most divisions). Sources: OIML R 76-1 (2006) table 3; NIST Handbook 44 section 2.20,
 * tables 3 and 8. They agree, but for class IIII: 1,000 divisions in R 76, 1,200 in Handbook 44, which is taken. */
#include <string.h>

#include "files/amount.h"
#include "files/station_raw.h"

#define II_COARSE (PG_PER_G / 10) /* class II from this division on has a greater least load */

mass_pg class_min_load(const char *accuracy, mass_pg division)
{
    if (!strcmp(accuracy, "I"))
        return 100 * division;
    if (!strcmp(accuracy, "II"))
        return (division >= II_COARSE ? 50 : 20) * division;
    if (!strcmp(accuracy, "III"))
        return 20 * division;
    return !strcmp(accuracy, "IIII") ? 10 * division : 0;
}

/* Most divisions of a class; 0 = no bound; -1 = not a class. */
static int64_t class_most(const char *accuracy)
{
    if (!*accuracy || !strcmp(accuracy, "I"))
        return 0;
    if (!strcmp(accuracy, "II"))
        return 100000;
    if (!strcmp(accuracy, "III"))
        return 10000;
    return !strcmp(accuracy, "IIII") ? 1200 : -1;
}

const char *scale_plate(const struct station_scale *s, const char **key)
{
    int64_t most = class_most(s->accuracy);
    *key = "class";
    if (most < 0)
        return "not an accuracy class (I, II, III, IIII)";
    if (!s->capacity || !s->division)
        return NULL;
    *key = "division";
    if (s->division > s->capacity / 100)
        return "more than a hundredth of the capacity";
    if (most && s->capacity / s->division > most)
        return "finer than its class allows for this capacity";
    return NULL;
}

/* Every fault of the argument quotes it whole: there may be several on the command line. */
static void argument_fault(struct faults *f, const char *arg, const char *wrong)
{
    faults_add(f, "--scale", 0,
               "%s: %s; expected NAME=PROFILE@DEVICE[,capacity=MASS,division=MASS,class=I|II|III|IIII]", arg, wrong);
}

/* Copies n bytes without the blanks around them. False: nothing, or no room. */
static bool piece(const char *at, size_t n, char *out, size_t cap)
{
    while (n && (*at == ' ' || *at == '\t')) {
        at++;
        n--;
    }
    while (n && (at[n - 1] == ' ' || at[n - 1] == '\t'))
        n--;
    if (!n || n >= cap)
        return false;
    memcpy(out, at, n);
    out[n] = '\0';
    return true;
}

/* The last ",capacity=", ",division=" or ",class=" before `end`: a device text may hold other commas. */
static const char *last_option(const char *from, const char *end, const char **word, const char **value)
{
    static const char *const words[] = {"capacity", "division", "class"};
    for (const char *at = end; at-- > from;) {
        if (*at != ',')
            continue;
        const char *w = at + 1 + strspn(at + 1, " \t");
        for (unsigned i = 0; i < 3; i++) {
            size_t n = strlen(words[i]);
            const char *eq = w + n + (w + n <= end && !strncmp(w, words[i], n) ? strspn(w + n, " \t") : 0);
            if (eq < end && !strncmp(w, words[i], n) && *eq == '=') {
                *word = words[i];
                *value = eq + 1;
                return at;
            }
        }
    }
    return NULL;
}

/* Given twice would mean that one of them is not what was meant. */
static const char *take_option(const char *word, const char *value, size_t n, struct station_scale *out)
{
    bool class = word[0] == 'c' && word[1] == 'l';
    mass_pg *mass = word[0] == 'd' ? &out->division : &out->capacity;
    if (class)
        return out->accuracy[0]                                       ? "class is given twice"
               : piece(value, n, out->accuracy, sizeof out->accuracy) ? NULL
                                                                      : "not an accuracy class (I, II, III, IIII)";
    if (*mass)
        return word[0] == 'd' ? "division is given twice" : "capacity is given twice";
    const char *wrong = mass_take(value, n, mass);
    if (!wrong && *mass <= 0)
        wrong = "a mass that is not above zero";
    return wrong;
}

bool scale_argument(const char *arg, struct station_scale *out, struct faults *f)
{
    struct station_scale s = {0};
    const char *equals = strchr(arg, '=');
    const char *at = equals ? strchr(equals, '@') : NULL;
    const char *end = arg + strlen(arg);
    const char *wrong = NULL;
    const char *word;
    const char *value;
    const char *key;
    for (const char *o; at && !wrong && (o = last_option(at + 1, end, &word, &value)) != NULL; end = o)
        wrong = take_option(word, value, (size_t)(end - value), &s);
    if (!equals || !at)
        wrong = equals ? "no \"@\" before the device" : "no \"=\" after the scale's name";
    else if (!wrong && (!piece(arg, (size_t)(equals - arg), s.name, sizeof s.name) || !code_good(s.name)))
        wrong = "the scale's name is not 1 to 31 of a-z, 0-9 and -";
    else if (!wrong && !piece(equals + 1, (size_t)(at - equals - 1), s.profile, sizeof s.profile))
        wrong = "no profile before the \"@\"";
    else if (!wrong && !piece(at + 1, (size_t)(end - at - 1), s.device, sizeof s.device))
        wrong = "no device after the \"@\", or too long a one";
    if (!wrong)
        wrong = scale_plate(&s, &key);
    if (wrong) {
        argument_fault(f, arg, wrong);
        return false;
    }
    *out = s;
    return true;
}

/* What both say together must be a scale that can be. */
static void check_together(const struct station_scale *s, const char *arg, struct faults *f)
{
    const char *key;
    const char *wrong = scale_plate(s, &key);
    if (wrong)
        faults_add(
            f, "--scale", 0,
            "%s: with what the station file says of that scale, its %s is %s; expected capacity, division and class "
            "as the plate has them",
            arg, key, wrong);
}

/* What the argument leaves out is the plate's, which does not change with the cable. */
static void inherit(const struct station *st, struct station_scale *s)
{
    for (unsigned k = 0; k < st->scale_count; k++) {
        const struct station_scale *from = &st->scales[k];
        if (strcmp(from->name, s->name) != 0)
            continue;
        s->capacity = s->capacity ? s->capacity : from->capacity;
        s->division = s->division ? s->division : from->division;
        if (!s->accuracy[0])
            memcpy(s->accuracy, from->accuracy, sizeof s->accuracy);
    }
}

bool station_argued_scales(struct station *st, const char *const *args, unsigned count, struct faults *f)
{
    struct station_scale list[CAP_SCALES];
    unsigned before = f->count;
    for (unsigned k = 0; k < count && k < CAP_SCALES; k++) {
        if (!scale_argument(args[k], &list[k], f))
            continue;
        inherit(st, &list[k]);
        check_together(&list[k], args[k], f);
        for (unsigned e = 0; e < k; e++)
            if (!strcmp(list[e].name, list[k].name))
                faults_add(f, "--scale", 0, "%s: the name %s is given twice; expected each scale once", args[k],
                           list[k].name);
    }
    if (f->count != before)
        return false;
    if (count) {
        memcpy(st->scales, list, count * sizeof list[0]);
        st->scale_count = (uint8_t)count;
    }
    return true;
}
