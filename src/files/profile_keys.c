/* The keys of a scale profile. */
#include "files/profile_raw.h"

#define SCALE(m) offsetof(struct raw_scale, m)
#define CHECK(m) offsetof(struct raw_check, m)
#define LIST(i) (offsetof(struct raw_words, list) + (i) * sizeof(const char *))

static const struct key scale_keys[] = {
    {"name", KEY_CODE, KEY_REQUIRED, CAP_KEY, SCALE(name), 0, 0, NULL, NULL, NULL,
     "name of the profile, after the shape of what the scale sends"},
    {"baud", KEY_WHOLE, 0, 4, SCALE(baud), 300, 230400, NULL, "9600", NULL, "bits a second on a serial line"},
    {"bits", KEY_WHOLE, 0, 1, SCALE(bits), 7, 8, NULL, "8", NULL, "data bits"},
    {"parity", KEY_CHOICE, 0, 1, SCALE(parity), 0, 0, "none|even|odd", "none", NULL, "parity bit"},
    {"stop", KEY_WHOLE, 0, 1, SCALE(stop), 1, 2, NULL, "1", NULL, "stop bits"},
    {"flow", KEY_CHOICE, 0, 1, SCALE(flow), 0, 0, "none|rtscts|xonxoff", "none", NULL, "flow control"},
    {"sends", KEY_CHOICE, KEY_REQUIRED, 1, SCALE(sends), 0, 0, "continuous|polled|settled|key", NULL, NULL,
     "all the time by itself; one line for each request; only when its weight has come to rest; or one line for each "
     "press "
     "of its print key"},
    {"request", KEY_BYTES, 0, 0, SCALE(request), 0, 0, NULL, NULL, NULL, "bytes that ask for a line; polled only"},
    {"period", KEY_TIME, KEY_REQUIRED, 0, SCALE(period), 5, 60000, NULL, NULL, NULL,
     "time from line to line, or from request to request; settled, key: the least time between two lines"},
    {"timeout", KEY_TIME, 0, 0, SCALE(timeout), 10, 60000, NULL, "500 ms", NULL,
     "polled: an answer later than this is asked for again"},
    {"silent", KEY_TIME, 0, 0, SCALE(silent), 100, 120000, NULL, "2 s", NULL,
     "no good line for so long: the scale is silent; settled, key: a line counts for so long"},
    {"end", KEY_BYTES, 0, 0, SCALE(end), 0, 0, NULL, NULL,
     "1 or 2 bytes, others than printable ones as \\r \\n or \\x03",
     "bytes that end a line; \\r\\n where neither this nor length is given"},
    {"length", KEY_WHOLE, 0, 1, SCALE(length), 2, 64, NULL, NULL, NULL,
     "bytes of a frame that is told by its length, because it has no end or its end may stand within it; its end "
     "counts"},
    {"tare", KEY_BYTES, 0, 0, SCALE(tare), 0, 0, NULL, NULL, NULL,
     "bytes that tare the scale, if it takes such a command"},
    {"zero", KEY_BYTES, 0, 0, SCALE(zero), 0, 0, NULL, NULL, NULL,
     "bytes that set it to zero, if it takes such a command"},
    {"units", KEY_BYTES, 0, 0, SCALE(units), 0, 0, NULL, NULL, NULL,
     "bytes that switch it to another unit, if it takes such a command"},
    {"decimal", KEY_CHOICE, 0, 1, SCALE(decimal), 0, 0, "point|comma", "point", NULL, "decimal sign of the weight"},
    {"implied", KEY_WHOLE, 0, 1, SCALE(implied), 0, 6, NULL, "0", NULL,
     "decimals that the line leaves out (12345 for 12.345: 3); 0 if it shows its decimal sign"},
    {"fill", KEY_CHOICE, 0, 1, SCALE(fill), 0, 0, "blanks|zeros", "blanks", NULL,
     "what stands before the digits of a figure; zeros: a blank there is a fault"},
    {"minus", KEY_CHOICE, 0, 1, SCALE(minus), 0, 0, "before|after|brackets", "before", NULL,
     "how a figure that holds its own sign shows a negative weight: -1.5, 1.5- or (1.5)"},
    {"unit", KEY_CHOICE, 0, 1, SCALE(unit), 0, 0, "line|kg|g|mg|lb|oz|gr", "line", NULL,
     "unit of every weight where the line has none; line: it stands in the line"},
    {"basis", KEY_CHOICE, 0, 1, SCALE(basis), 0, 0, "unknown|gross|net", "unknown", NULL,
     "what the weight is where the line does not say it"},
};

static const struct key line_keys[] = {
    {"shape", KEY_RAW, KEY_REQUIRED, 0, offsetof(struct raw_line, shape), 0, 0, NULL, NULL,
     "fields with blanks between: status basis sign weight ounces number unit blanks skip bits check, with :WIDTH "
     "where "
     "it is fixed, and texts in quotes, such as status:2 \",\" sign weight:8 blanks unit:2",
     "the fields of a line from left to right, without its end. ounces: beside a weight in whole pounds. number: a "
     "figure "
     "that is not taken. weight, ounces, number may add :packed (two digits a byte) and :reversed (lowest first). "
     "bits: a "
     "byte of [bits]. check: the check sum, over what stands before it, or between ( and )"},
};

static const struct key check_keys[] = {
    {"method", KEY_CHOICE, KEY_REQUIRED, 1, CHECK(method), 0, 0, "sum|xor|crc-modbus|crc-ccitt|crc-xmodem", NULL, NULL,
     "the bytes added up or xored, or a CRC of 16 bits (0x8005 reflected from 0xFFFF; 0x1021 from 0xFFFF; 0x1021 from "
     "0)"},
    {"bits", KEY_CHOICE, 0, 1, CHECK(bits), 0, 0, "7|8|16", "8", NULL,
     "lowest bits that are kept of a sum; xor: 7 or 8"},
    {"negated", KEY_CHOICE, 0, 1, CHECK(negated), 0, 0, "no|ones|twos", "no", NULL,
     "whether its ones' or two's complement is sent"},
    {"as", KEY_CHOICE, 0, 1, CHECK(as), 0, 0, "hex|raw", "hex", NULL, "hexadecimal digits, or the bytes themselves"},
    {"order", KEY_CHOICE, 0, 1, CHECK(order), 0, 0, "high|low", "high", NULL,
     "which of its bytes or digits comes first"},
};

static const struct key reports_keys[] = {
    {"report", KEY_WHOLE, 0, 1, offsetof(struct raw_reports, report), 1, 255, NULL, "3", NULL,
     "id of the data report: status, unit, power of ten and weight in 6 bytes"},
};

#define REG(m) offsetof(struct raw_registers, m)
static const struct key registers_keys[] = {
    {"function", KEY_CHOICE, 0, 1, REG(function), 0, 0, "holding|input", "holding", NULL,
     "which registers they are: read with function 3 or 4"},
    {"weight", KEY_WHOLE, KEY_REQUIRED, 2, REG(weight), 0, 65535, NULL, NULL, NULL,
     "address of the weight's (first) register as it goes over the line: the first of all is 0"},
    {"type", KEY_CHOICE, KEY_REQUIRED, 1, REG(type), 0, 0, "signed-16|unsigned-16|signed-32|unsigned-32", NULL, NULL,
     "one register or two, with or without sign (two's complement)"},
    {"order", KEY_CHOICE, 0, 1, REG(order), 0, 0, "high|low", "high", NULL,
     "which half of a weight of 32 bits stands in the first register"},
    {"factor", KEY_WHOLE, 0, 2, REG(factor), 1, 10000, NULL, "1", NULL,
     "how many steps of the last decimal one count is; the decimals are \"implied\" in [scale]"},
    {"status", KEY_WHOLE, 0, 2, REG(status), 0, 65535, NULL, NULL, NULL,
     "address of the status register, near the weight: one request reads both. [bits]: 1: is its high byte, 2: its low "
     "byte"},
};

#define WORDS(name, place, means, help)                                                                                \
    {                                                                                                                  \
        name, KEY_RAW, 0, 0, LIST(place), means, 0, NULL, NULL,                                                        \
            "words with blanks between, of at most 12 bytes, in quotes if they hold blanks or escapes", help           \
    }

static const struct key status_keys[] = {
    WORDS("stable", 0, READING_STABLE, "the weight is still"),
    WORDS("moving", 1, READING_MOVING, "the weight moves"),
    WORDS("over", 2, READING_OVER, "over capacity; may stand in the weight's place"),
    WORDS("under", 3, READING_UNDER, "under zero; may stand in the weight's place"),
    WORDS("fault", 4, READING_FAULT, "fault; may stand in the weight's place"),
    WORDS("unknown", 5, READING_UNKNOWN, "a weight of which motion can't be told"),
    WORDS("not-yet", 6, READING_NOTYET,
          "no weight yet (warming up, waiting for rest); may stand in the weight's place"),
};
static const struct key lines_keys[] = {
    WORDS("over", 0, READING_OVER, "over capacity"),
    WORDS("under", 1, READING_UNDER, "under zero"),
    WORDS("fault", 2, READING_FAULT, "fault"),
    WORDS("not-yet", 3, READING_NOTYET, "no weight yet"),
    WORDS("unit", 4, READING_UNIT, "it shows something else than a mass"),
};
static const struct key sign_keys[] = {
    WORDS("plus", 0, 0, "the weight is not negative"),
    WORDS("minus", 1, 1, "the weight is negative"),
};
static const struct key basis_keys[] = {
    WORDS("gross", 0, BASIS_GROSS, "the weight is gross"),
    WORDS("net", 1, BASIS_NET, "the weight is net"),
};
static const struct key unit_keys[] = {
    WORDS("kg", 0, UNIT_KG, "kilograms"), WORDS("g", 1, UNIT_G, "grams"),    WORDS("mg", 2, UNIT_MG, "milligrams"),
    WORDS("lb", 3, UNIT_LB, "pounds"),    WORDS("oz", 4, UNIT_OZ, "ounces"), WORDS("gr", 5, UNIT_GR, "grains"),
};

#define BITS(name, place, kind, means, help)                                                                           \
    {                                                                                                                  \
        name, KEY_RAW, 0, 0, LIST(place), means, kind, NULL, NULL,                                                     \
            "patterns with blanks between, such as 2:----1--0: of the second \"bits\" byte, its highest bit first; - " \
            "is "                                                                                                      \
            "either; without 2: of the first",                                                                         \
            help                                                                                                       \
    }

static const struct key bits_keys[] = {
    BITS("always", 0, FIELD_LITERAL, 0, "bits that are so in every frame"),
    BITS("stable", 1, FIELD_STATUS, READING_STABLE, "the weight is still"),
    BITS("moving", 2, FIELD_STATUS, READING_MOVING, "the weight moves"),
    BITS("over", 3, FIELD_STATUS, READING_OVER, "over capacity"),
    BITS("under", 4, FIELD_STATUS, READING_UNDER, "under zero"),
    BITS("fault", 5, FIELD_STATUS, READING_FAULT, "fault"),
    BITS("not-yet", 6, FIELD_STATUS, READING_NOTYET, "no weight yet"),
    BITS("gross", 7, FIELD_BASIS, BASIS_GROSS, "the weight is gross"),
    BITS("net", 8, FIELD_BASIS, BASIS_NET, "the weight is net"),
    BITS("plus", 9, FIELD_SIGN, 0, "the weight is not negative"),
    BITS("minus", 10, FIELD_SIGN, 1, "the weight is negative"),
    BITS("kg", 11, FIELD_UNIT, UNIT_KG, "kilograms"),
    BITS("g", 12, FIELD_UNIT, UNIT_G, "grams"),
    BITS("lb", 13, FIELD_UNIT, UNIT_LB, "pounds"),
    BITS("oz", 14, FIELD_UNIT, UNIT_OZ, "ounces"),
    BITS("places-0", 15, FIELD_WEIGHT, 0, "the weight has no decimals"),
    BITS("places-1", 16, FIELD_WEIGHT, 1, "its last digit is a decimal"),
    BITS("places-2", 17, FIELD_WEIGHT, 2, "its last two digits are decimals"),
    BITS("places-3", 18, FIELD_WEIGHT, 3, "its last three digits are decimals"),
    BITS("places-4", 19, FIELD_WEIGHT, 4, "its last four digits are decimals"),
};

#define KEYS(list) (list), sizeof(list) / sizeof *(list)

static const struct section_kind sections[] = {
    {"scale", NULL, "How the scale is spoken to.", KEYS(scale_keys), 1},
    {"line", NULL, "What a line looks like. A profile has this section, or [reports], or [registers].", KEYS(line_keys),
     0},
    {"reports", NULL, "The scale is a USB HID weighing device: no lines, but data reports.", KEYS(reports_keys), 0},
    {"registers", NULL, "The scale is asked over Modbus RTU: no lines, but registers.", KEYS(registers_keys), 0},
    {"status", NULL, "Words of a status field. Their padding with blanks doesn't matter.", KEYS(status_keys), 0},
    {"basis", NULL, "Words of a basis field.", KEYS(basis_keys), 0},
    {"unit", NULL, "Words of a unit field.", KEYS(unit_keys), 0},
    {"sign", NULL, "Words of a sign field. Without them it is one byte: +, - or a blank.", KEYS(sign_keys), 0},
    {"bits", NULL, "What the bits of the \"bits\" bytes mean.", KEYS(bits_keys), 0},
    {"lines", NULL,
     "Lines of another shape, that say that there is no weight: all of the line, blanks around it aside.",
     KEYS(lines_keys), 0},
    {"check", NULL, "The check sum, which must match.", KEYS(check_keys), 0},
};

const struct file_kind scale_kind = {"scale", "scales",
                                     "The shape of what a scale sends: the profile by which its bytes become weights.",
                                     KEYS(sections)};
