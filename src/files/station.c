/* Station file into struct station. */
#include <stdlib.h>
#include <string.h>

#include "files/station_raw.h"

/* A path in a station file is meant from that file's folder; a bare name is a shipped file's and stays. */
static void from_folder(const char *file, const char *path, char out[FILE_PATH])
{
    const char *slash = strrchr(file, '/');
    size_t n = strlen(path);
    bool is_path = strchr(path, '/') || (n > 4 && !strcmp(path + n - 4, ".ini"));
    size_t folder = is_path && path[0] != '/' && slash ? (size_t)(slash - file) + 1 : 0;
    if (folder + n >= FILE_PATH) {
        out[0] = '\0';
        return;
    }
    memmove(out + folder, path, n + 1);
    memcpy(out, file, folder);
}

/* Through a room of its own: `out` may be where `path` lies (a scale's profile). */
static void path_out(const struct ini *doc, const struct ini_section *s, const char *key, const char *path,
                     char out[FILE_PATH])
{
    char whole[FILE_PATH];
    from_folder(doc->path, path, whole);
    if (path[0] && !whole[0])
        table_fault(doc, s, key, "too long with this file's folder before it", "at most 511 bytes");
    memcpy(out, whole, FILE_PATH);
}

static void station_out(const struct ini *doc, const struct ini_section *s, const struct raw_station *raw,
                        struct station *out)
{
    memcpy(out->name, raw->name, sizeof out->name);
    memcpy(out->jurisdiction, raw->jurisdiction, sizeof out->jurisdiction);
    memcpy(out->language, raw->language, sizeof out->language);
    memcpy(out->lot_pattern, raw->lot_pattern, sizeof out->lot_pattern);
    memcpy(out->reasons, raw->reasons, sizeof out->reasons);
    path_out(doc, s, "limits", raw->limits, out->limits);
    path_out(doc, s, "people", raw->people, out->people);
    out->accept_auto = raw->accept == 1;
    out->second_person = raw->second_person;
    out->accept_ms = raw->accept_ms;
    out->container_max = raw->container_max;
    for (unsigned i = 0; i < STATION_REASONS; i++) {
        if (raw->reasons[i][0] && out->reason_count != i) {
            char key[16];
            snprintf(key, sizeof key, "reason.%u", i + 1);
            table_fault(doc, s, key, "the one before it is missing", "reasons numbered from 1 without a gap");
            return;
        }
        out->reason_count = (uint8_t)(out->reason_count + (raw->reasons[i][0] != '\0'));
    }
    if (strlen(raw->lot_pattern) >= CAP_LOT)
        table_fault(doc, s, "lot-pattern", "longer than a lot code can be", "at most 31 characters");
}

static void read_scale(const struct ini *doc, const struct ini_section *s, struct station *out)
{
    if (out->scale_count == CAP_SCALES) {
        faults_add(doc->faults, doc->path, s->line, "too many scales; expected at most %d", CAP_SCALES);
        return;
    }
    struct station_scale *scale = &out->scales[out->scale_count++];
    unsigned before = doc->faults->count;
    memcpy(scale->name, s->title, strnlen(s->title, CAP_KEY - 1));
    table_fill(&station_kind.sections[1], doc, s, NULL, scale);
    path_out(doc, s, "profile", scale->profile, scale->profile);
    const char *key;
    const char *wrong = doc->faults->count == before ? scale_plate(scale, &key) : NULL;
    if (wrong)
        table_fault(doc, s, key, wrong, "what its plate says");
    for (const struct station_scale *e = out->scales; e < scale; e++)
        if (scale->device[0] && !strcmp(e->device, scale->device))
            table_fault(doc, s, "device", "another scale has the same device", "each scale its own");
}

/* An allowance as large as the container itself would let an empty platform pass for it. */
static void read_container(const struct ini *doc, const struct ini_section *s, struct station *out)
{
    if (out->container_count == STATION_CONTAINERS) {
        faults_add(doc->faults, doc->path, s->line, "too many containers; expected at most %d", STATION_CONTAINERS);
        return;
    }
    struct station_container *c = &out->containers[out->container_count++];
    memcpy(c->key, s->title, strnlen(s->title, CAP_KEY - 1));
    table_fill(&station_kind.sections[2], doc, s, NULL, c);
    if (c->empty && c->off >= c->empty)
        table_fault(doc, s, "off", "not below its empty weight", "a small part of it");
}

bool station_read(const struct file_text *text, struct station *out, struct faults *f)
{
    unsigned before = f->count;
    struct ini doc;
    struct raw_station raw;
    memset(out, 0, sizeof *out);
    memset(&raw, 0, sizeof raw);
    ini_read(&doc, text, f);
    table_sections(&station_kind, &doc);
    /* of two heads, which is a fault, the first is read */
    bool head = false;
    for (unsigned i = 0; i < doc.section_count; i++) {
        const struct ini_section *s = &doc.sections[i];
        unsigned place;
        if (!table_kind(&station_kind, s, &place) || (place == 0 && head))
            continue;
        if (place == 1)
            read_scale(&doc, s, out);
        else if (place == 2)
            read_container(&doc, s, out);
        else {
            head = true;
            table_fill(&station_kind.sections[0], &doc, s, NULL, &raw);
            station_out(&doc, s, &raw, out);
        }
    }
    return f->count == before;
}

/* Letters of ASCII only: lot codes are printed by machines, and a pattern can't say more. */
bool lot_fits(const char *pattern, const char *lot)
{
    if (!*pattern)
        return *lot != '\0' && strlen(lot) < CAP_LOT;
    for (; *pattern && *lot; pattern++, lot++) {
        bool letter = (*lot >= 'A' && *lot <= 'Z') || (*lot >= 'a' && *lot <= 'z');
        bool digit = *lot >= '0' && *lot <= '9';
        if (*pattern == 'A' ? !letter : *pattern == '9' ? !digit : *pattern != *lot)
            return false;
    }
    return !*pattern && !*lot;
}

void lot_spell(const char *pattern, char *lot)
{
    for (; *pattern && *lot; pattern++, lot++)
        if (*pattern == 'A' && *lot >= 'a' && *lot <= 'z')
            *lot = (char)(*lot - 'a' + 'A');
}
