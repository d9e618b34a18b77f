/* Any bytes as a JSON string: always valid to SQLite's JSON reader and UTF-8 to the C library, and text comes back as it
 * was. */
#include <iconv.h>
#include <sqlite3.h>
#include <string.h>

#include "core/json.h"
#include "fuzz.h"

static sqlite3_stmt *ask;

static void prepare(void)
{
    sqlite3 *db;

    MUST(sqlite3_open(":memory:", &db) == SQLITE_OK);
    MUST(sqlite3_prepare_v2(db, "SELECT json_valid(?1), json_extract(?1, '$.k[0]')", -1, &ask, NULL) == SQLITE_OK);
}

static bool is_utf8(char *text, size_t n)
{
    static iconv_t to;
    static char out[4 * 4096];
    char *at = out;
    size_t room = sizeof out;

    if (!to)
        to = iconv_open("UCS-4LE", "UTF-8");
    MUST(to != (iconv_t)-1);
    iconv(to, NULL, NULL, NULL, NULL);
    return iconv(to, &text, &n, &at, &room) != (size_t)-1 && n == 0;
}

static bool ascii(const uint8_t *data, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if (data[i] == 0 || data[i] >= 0x80)
            return false;
    return true;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static char buf[4096];
    struct json j;

    if (!ask)
        prepare();
    json_begin(&j, buf, size > 2 && data[0] == 0xff ? data[1] : sizeof buf);
    json_open(&j, '{');
    json_key(&j, "k");
    json_open(&j, '[');
    json_string_n(&j, (const char *)data, size);
    json_decimal(&j, (int64_t)size * (data && size && data[0] & 1 ? -1 : 1), size ? data[0] % 30 : 0);
    json_close(&j, ']');
    json_close(&j, '}');
    if (!json_finish(&j))
        return 0;
    MUST(strlen(buf) == j.len && is_utf8(buf, j.len));
    sqlite3_bind_text(ask, 1, buf, (int)j.len, SQLITE_STATIC);
    MUST(sqlite3_step(ask) == SQLITE_ROW && sqlite3_column_int(ask, 0) == 1);
    if (ascii(data, size)) {
        MUST((size_t)sqlite3_column_bytes(ask, 1) == size);
        MUST(size == 0 || !memcmp(sqlite3_column_text(ask, 1), data, size));
    }
    sqlite3_reset(ask);
    return 0;
}
