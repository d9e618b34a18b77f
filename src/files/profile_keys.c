/* The keys of a scale profile. */
#include "files/profile_raw.h"

#define SCALE(m) offsetof(struct raw_scale, m)
#define LIST(i) (offsetof(struct raw_words, list) + (i) * sizeof(const char *))

static const struct key scale_keys[] = {
    {"name", KEY_CODE, KEY_REQUIRED, CAP_KEY, SCALE(name), 0, 0, NULL, NULL, NULL,
     "name of the profile, after the shape of what the scale sends"},
    {"baud", KEY_WHOLE, 0, 4, SCALE(baud), 300, 230400, NULL, "9600", NULL, "bits a second on a serial line"},
    {"bits", KEY_WHOLE, 0, 1, SCALE(bits), 7, 8, NULL, "8", NULL, "data bits"},
    {"parity", KEY_CHOICE, 0, 1, SCALE(parity), 0, 0, "none|even|odd", "none", NULL, "parity bit"},
    {"stop", KEY_WHOLE, 0, 1, SCALE(stop), 1, 2, NULL, "1", NULL, "stop bits"},
    {"flow", KEY_CHOICE, 0, 1, SCALE(flow), 0, 0, "none|rtscts|xonxoff", "none", NULL, "flow control"},
    {"sends", KEY_CHOICE, KEY_REQUIRED, 1, SCALE(sends), 0, 0, "continuous|polled", NULL, NULL,
     "by itself, or one line for each request"},
    {"request", KEY_BYTES, 0, 0, SCALE(request), 0, 0, NULL, NULL, NULL, "bytes that ask for a line; polled only"},
    {"period", KEY_TIME, KEY_REQUIRED, 0, SCALE(period), 5, 60000, NULL, NULL, NULL,
     "time from line to line, or from request to request"},
    {"timeout", KEY_TIME, 0, 0, SCALE(timeout), 10, 60000, NULL, "500 ms", NULL,
     "polled: an answer later than this is asked for again"},
    {"silent", KEY_TIME, 0, 0, SCALE(silent), 100, 120000, NULL, "2 s", NULL,
     "no good line for so long: the scale is silent"},
    {"end", KEY_BYTES, 0, 0, SCALE(end), 0, 0, NULL, "\\r\\n",
     "1 or 2 bytes, others than printable ones as \\r \\n or \\x03", "bytes that end a line"},
    {"tare", KEY_BYTES, 0, 0, SCALE(tare), 0, 0, NULL, NULL, NULL,
     "bytes that tare the scale, if it takes such a command"},
    {"zero", KEY_BYTES, 0, 0, SCALE(zero), 0, 0, NULL, NULL, NULL,
     "bytes that set it to zero, if it takes such a command"},
    {"decimal", KEY_CHOICE, 0, 1, SCALE(decimal), 0, 0, "point|comma", "point", NULL, "decimal sign of the weight"},
    {"implied", KEY_WHOLE, 0, 1, SCALE(implied), 0, 6, NULL, "0", NULL,
     "decimals that the line leaves out (12345 for 12.345: 3); 0 if it shows its decimal sign"},
    {"unit", KEY_CHOICE, 0, 1, SCALE(unit), 0, 0, "line|kg|g|mg|lb|oz|gr", "line", NULL,
     "unit of every weight where the line has none; line: it stands in the line"},
    {"basis", KEY_CHOICE, 0, 1, SCALE(basis), 0, 0, "unknown|gross|net", "unknown", NULL,
     "what the weight is where the line does not say it"},
};

static const struct key line_keys[] = {
    {"shape", KEY_RAW, KEY_REQUIRED, 0, offsetof(struct raw_line, shape), 0, 0, NULL, NULL,
     "fields with blanks between: status basis sign weight unit blanks skip, with :WIDTH where it is fixed, and texts "
     "in quotes, such as status:2 \",\" sign weight:8 blanks unit:2",
     "the fields of a line from left to right, without its end"},
};

#define WORDS(name, place, means, help)                                                                                \
    {                                                                                                                  \
        name, KEY_RAW, 0, 0, LIST(place), means, 0, NULL, NULL,                                                        \
            "words with blanks between, of at most 8 bytes, in quotes if they hold blanks or escapes", help            \
    }

static const struct key status_keys[] = {
    WORDS("stable", 0, READING_STABLE, "the weight is still"),
    WORDS("moving", 1, READING_MOVING, "the weight moves"),
    WORDS("over", 2, READING_OVER, "over capacity; may stand in the weight's place"),
    WORDS("under", 3, READING_UNDER, "under zero; may stand in the weight's place"),
    WORDS("fault", 4, READING_FAULT, "fault or no weight yet; may stand in the weight's place"),
    WORDS("unknown", 5, READING_UNKNOWN, "a weight of which motion can't be told"),
};
static const struct key basis_keys[] = {
    WORDS("gross", 0, BASIS_GROSS, "the weight is gross"),
    WORDS("net", 1, BASIS_NET, "the weight is net"),
};
static const struct key unit_keys[] = {
    WORDS("kg", 0, UNIT_KG, "kilograms"), WORDS("g", 1, UNIT_G, "grams"),    WORDS("mg", 2, UNIT_MG, "milligrams"),
    WORDS("lb", 3, UNIT_LB, "pounds"),    WORDS("oz", 4, UNIT_OZ, "ounces"), WORDS("gr", 5, UNIT_GR, "grains"),
};

#define KEYS(list) (list), sizeof(list) / sizeof *(list)

static const struct section_kind sections[] = {
    {"scale", NULL, "How the scale is spoken to.", KEYS(scale_keys), 1},
    {"line", NULL, "What a line looks like.", KEYS(line_keys), 1},
    {"status", NULL, "Words of a status field. Their padding with blanks doesn't matter.", KEYS(status_keys), 0},
    {"basis", NULL, "Words of a basis field.", KEYS(basis_keys), 0},
    {"unit", NULL, "Words of a unit field.", KEYS(unit_keys), 0},
};

const struct file_kind scale_kind = {"scale", "scales",
                                     "The shape of what a scale sends: the profile by which its bytes become weights.",
                                     KEYS(sections)};
