/* The chain's one definition; docs/journal.md says the same in words, tests/e2e/check_journal.py in Python. */
#include <sodium.h>
#include <string.h>

#include "store/store.h"

_Static_assert(STORE_HASH == crypto_generichash_BYTES, "BLAKE2b-256 is the library's default length");

/* The format's version is hashed too: an entry of another format can never verify as one of this. */
static const char tag[] = "tareline journal 1";

static void little_endian(uint64_t value, uint8_t out[8])
{
    for (int i = 0; i < 8; i++)
        out[i] = (uint8_t)(value >> (8 * i));
}

/* Each field goes in behind its length, so that no two different entries are the same bytes. */
static void add(crypto_generichash_state *state, const void *bytes, size_t len)
{
    uint8_t prefix[8];
    little_endian(len, prefix);
    crypto_generichash_update(state, prefix, sizeof prefix);
    crypto_generichash_update(state, bytes, len);
}

static void add_number(crypto_generichash_state *state, uint64_t value)
{
    uint8_t bytes[8];
    little_endian(value, bytes);
    add(state, bytes, sizeof bytes);
}

static void add_text(crypto_generichash_state *state, const char *text)
{
    add(state, text ? text : "", text ? strlen(text) : 0);
}

void store_hash_entry(const struct store_head *prev, const struct entry *e, uint8_t out[STORE_HASH])
{
    crypto_generichash_state state;
    crypto_generichash_init(&state, NULL, 0, STORE_HASH);
    add(&state, tag, sizeof tag - 1);
    add_number(&state, (uint64_t)prev->seq + 1);
    add_number(&state, (uint64_t)e->utc_us);
    add_number(&state, e->mono_us);
    add_text(&state, e->kind);
    add_text(&state, e->batch);
    add_text(&state, e->person);
    add_text(&state, e->payload);
    add(&state, prev->hash, STORE_HASH);
    crypto_generichash_final(&state, out, STORE_HASH);
}

void store_text_hash(const char *text, size_t len, char hash_hex[65])
{
    uint8_t hash[STORE_HASH];
    crypto_generichash(hash, sizeof hash, (const unsigned char *)text, len, NULL, 0);
    sodium_bin2hex(hash_hex, 65, hash, sizeof hash);
}
