/* The keys of a station file, a people file and a limits file. */
#include "files/station_raw.h"

#define STATION(m) offsetof(struct raw_station, m)
#define SCALE(m) offsetof(struct station_scale, m)
#define CUP(m) offsetof(struct station_container, m)
#define PERSON(m) offsetof(struct people_entry, m)
#define LIMIT(m) offsetof(struct raw_limit, m)
#define KEYS(list) (list), sizeof(list) / sizeof *(list)

static const struct key station_keys[] = {
    {"name", KEY_TEXT, KEY_REQUIRED, CAP_NAME, STATION(name), 0, 0, NULL, NULL, NULL,
     "name of the station, in records"},
    {"jurisdiction", KEY_CODE, 0, CAP_KEY, STATION(jurisdiction), 0, 0, NULL, NULL, NULL,
     "whose law holds, as the limits file names it; never guessed: a regulated ingredient is refused without it"},
    {"limits", KEY_TEXT, 0, 256, STATION(limits), 0, 0, NULL, NULL,
     "a path from this file, or the name of a shipped one", "limits file; needed for regulated ingredients"},
    {"people", KEY_TEXT, 0, 256, STATION(people), 0, 0, NULL, NULL, "a path from this file",
     "people file; with it somebody must sign in"},
    {"language", KEY_CODE, 0, 4, STATION(language), 0, 0, NULL, "en", NULL,
     "language of ingredients' names, where the formula has it"},
    {"lot-pattern", KEY_TEXT, 0, 64, STATION(lot_pattern), 0, 0, NULL, NULL, NULL,
     "what a lot code looks like: A a letter, 9 a digit, others themselves; without it any code will do"},
    {"accept", KEY_CHOICE, 0, 1, STATION(accept), 0, 0, "key|auto", "key", NULL,
     "a weight is accepted by a key, or by itself when it has stayed in its band (never a critical one)"},
    {"accept-after", KEY_TIME, 0, 0, STATION(accept_ms), 300, 60000, NULL, "1.5 s", NULL,
     "accept = auto: how long it must have stayed"},
    {"second-person", KEY_BOOL, 0, 0, STATION(second_person), 0, 0, NULL, "no", NULL,
     "a critical ingredient's second look must be another person's, who gives their code; no: the same person may"},
    {"container-room", KEY_MASS, 0, 0, STATION(container_max), 0, 100 * PG_PER_KG, NULL, "2 kg", NULL,
     "room left on a platform for a container when a scale is chosen, but at most a fifth of its capacity"},
    {"reason", KEY_TEXT, KEY_NUMBERED, CAP_REASON, STATION(reasons), 1, STATION_REASONS, NULL, NULL, NULL,
     "reason.1 to reason.9: reasons for a weight out of its band, picked by digit"},
};

static const struct key scale_keys[] = {
    {"profile", KEY_TEXT, KEY_REQUIRED, 256, SCALE(profile), 0, 0, NULL, NULL,
     "a path from this file, or the name of a shipped one", "scale profile"},
    {"device", KEY_TEXT, KEY_REQUIRED, DEVICE_MAX, SCALE(device), 0, 0, NULL, NULL, NULL,
     "how the scale is reached: /dev/serial/by-id/..., tcp:HOST:PORT, hid:VID:PID:SERIAL, modbus:TTY:ADDRESS or "
     "replay:FILE"},
    {"capacity", KEY_MASS, KEY_REQUIRED, 0, SCALE(capacity), PG_PER_G, 9000 * PG_PER_KG, NULL, NULL, NULL,
     "the most it weighs, from its plate"},
    {"division", KEY_MASS, KEY_REQUIRED, 0, SCALE(division), PG_PER_MG / 10, 10 * PG_PER_KG, NULL, NULL, NULL,
     "its smallest step, from its plate"},
    {"class", KEY_TEXT, 0, 8, SCALE(accuracy), 0, 0, NULL, NULL, "one of I, II, III, IIII",
     "accuracy class from its plate; sets the least load"},
};

static const struct key container_keys[] = {
    {"empty", KEY_MASS, KEY_REQUIRED, 0, CUP(empty), PG_PER_MG, 1000 * PG_PER_KG, NULL, NULL, NULL, "its empty weight"},
    {"off", KEY_MASS, KEY_REQUIRED, 0, CUP(off), 0, 100 * PG_PER_KG, NULL, NULL, NULL,
     "how far its weight may be off that before it is refused as another or an unclean one"},
};

static const struct section_kind station_sections[] = {
    {"station", NULL, "The place where is weighed.", KEYS(station_keys), 1},
    {"scale", "NAME", "One scale. --scale NAME=... on the command line goes before it.", KEYS(scale_keys), 0},
    {"container", "KEY", "A known container.", KEYS(container_keys), 0},
};

static const struct key person_keys[] = {
    {"name", KEY_TEXT, KEY_REQUIRED, CAP_NAME, PERSON(name), 0, 0, NULL, NULL, NULL, "full name"},
    {"initials", KEY_TEXT, KEY_REQUIRED, CAP_PERSON, PERSON(initials), 0, 0, NULL, NULL, NULL,
     "by which the person signs in and is recorded"},
    {"number", KEY_TEXT, 0, CAP_PERSON, PERSON(number), 0, 0, NULL, NULL, "1 to 15 digits",
     "the same for a number pad"},
    {"rights", KEY_FLAGS, 0, 0, PERSON(rights), 0, 0, "accept|type|release", "none", NULL,
     "accept: a weight out of its band, with a reason; type: a weight by hand while the scale is dead; release: a held "
     "batch"},
};

static const struct section_kind people_sections[] = {
    {"person", "KEY", "One person.", KEYS(person_keys), 1},
};

static const struct key limit_keys[] = {
    {"substance", KEY_CODE, KEY_REQUIRED, CAP_KEY, LIMIT(substance), 0, 0, NULL, NULL, NULL,
     "what is limited, as the formula names it"},
    {"jurisdiction", KEY_CODE, KEY_REQUIRED, CAP_KEY, LIMIT(jurisdiction), 0, 0, NULL, NULL, NULL, "whose law it is"},
    {"class", KEY_CODE, KEY_REQUIRED, CAP_KEY, LIMIT(product_class), 0, 0, NULL, NULL, NULL,
     "class of product that it holds for, as the formula names it"},
    {"of", KEY_CHOICE, KEY_REQUIRED, 1, LIMIT(of), 0, 0, "meat|total", NULL, NULL,
     "what the share is of: the meat block, or all that goes into the mixer"},
    {"max", KEY_LIMIT, KEY_REQUIRED, 0, LIMIT(max), 0, 0, NULL, NULL, NULL, "highest lawful mass of the substance"},
    {"source", KEY_TEXT, KEY_REQUIRED, CAP_NAME, LIMIT(source), 0, 0, NULL, NULL, NULL, "the legal text it comes from"},
};

static const struct section_kind limits_sections[] = {
    {"limit", "KEY", "One limit.", KEYS(limit_keys), 1},
};

const struct file_kind station_kind = {"station", "stations", "One weighing place: its scales, containers and rules.",
                                       KEYS(station_sections)};
const struct file_kind people_kind = {"people", "stations", "Who may do what at a station.", KEYS(people_sections)};
const struct file_kind limits_kind = {
    "limits", "limits",
    "What the law limits. Every figure must be confirmed against the current text of the law named as its source, and "
    "local codes and the inspector go before it.",
    KEYS(limits_sections)};
