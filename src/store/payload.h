/* Payload: a core record as the JSON text of a journal entry, and back (reading through SQLite's JSON functions).
 * docs/journal.md lists the keys of each kind. */
#ifndef STORE_PAYLOAD_H
#define STORE_PAYLOAD_H

#include "core/sequence.h"
#include "store/store.h"

#define PAYLOAD_MAX 4096 /* room for any record's payload with NUL */

/* What only the station knows about a batch, stored with its STARTED entry. Hex hashes of kept texts; "" = none. */
struct batch_texts {
    char formula[65], station[65], limits[65], people[65];
    char formula_name[CAP_NAME], formula_id[CAP_KEY];
    uint16_t number, batches; /* of --batches: this is the so many-eth of so many; 0 = one alone */
};

/* The journal kind is record_kind_text(r->kind), the entry's person r->person. setup gives names (scale, ingredient and step
 * keys) beside the numbers. texts: for STARTED only, else NULL. False: did not fit. */
bool payload_write(const struct record *r, const struct setup *setup, const struct batch_texts *texts, char *buf,
                   size_t cap);
/* Back to a record, exactly, but for masses that the record said are not meant (has_gross, has_band): they come back as 0;
 * has_gross is true for WEIGHED only. setup: as in writing; NULL leaves NO_SCALE, NO_INGREDIENT and NO_STEP. texts may be NULL;
 * all "" but for STARTED.
 * STORE_NONE: an entry that is not a core record (text, notice, refused ...): to be skipped. STORE_BROKEN: it claims to be one
 * and is not, or names a scale, ingredient or step that setup doesn't have. */
enum store_result payload_read(struct store *s, const struct entry *e, const struct setup *setup, struct record *out,
                               struct batch_texts *texts);

/* One top-level key of a payload. */
enum payload_type { PAYLOAD_NULL, PAYLOAD_BOOL, PAYLOAD_INT, PAYLOAD_REAL, PAYLOAD_TEXT, PAYLOAD_OTHER };
struct payload_field {
    const char *key;
    uint8_t type;     /* enum payload_type */
    int64_t number;   /* INT; BOOL: 0 or 1; REAL: thousandths, rounded */
    const char *text; /* TEXT: the string; OTHER: its JSON; else "" */
};
/* Calls `each` for the keys of a payload in their order; a true return stops. STORE_BROKEN: no JSON object. key and text
 * are valid during the callback, which must not read another payload of the same store. */
enum store_result payload_each(struct store *s, const char *payload,
                               bool (*each)(void *self, const struct payload_field *field), void *self);

/* "weighed", "declared", "planned". */
const char *meat_basis_text(enum meat_basis basis);

#endif
