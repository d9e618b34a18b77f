/* A file read whole, so that what was read is what is journalled. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "core/character.h"
#include "files/files.h"

/* True if the text is UTF-8 without control characters (tab and line ends apart). */
static bool check_bytes(const struct file_text *t, struct faults *f)
{
    unsigned line = 1;
    for (size_t i = 0; i < t->len;) {
        unsigned char c = (unsigned char)t->text[i];
        size_t n = character_len(t->text + i, t->len - i);
        bool control = n && character_controls(character_code(t->text + i, n));
        if (!n || (control && c != '\t' && c != '\n' && c != '\r')) {
            faults_add(f, t->path, line, "byte 0x%02x is not text; expected UTF-8 without control characters", c);
            return false;
        }
        line += c == '\n';
        i += n;
    }
    return true;
}

/* Only a regular file: a pipe or a device could keep the station waiting. One byte more than fits is asked for, so that a file
 * that is too long is a fault and never a shorter file. */
bool file_read(const char *path, struct file_text *out, struct faults *f)
{
    out->len = 0;
    out->text[0] = '\0';
    if (strlen(path) >= sizeof out->path) {
        faults_add(f, path, 0, "the path is too long; expected at most %zu bytes", sizeof out->path - 1);
        return false;
    }
    memcpy(out->path, path, strlen(path) + 1);
    struct stat st;
    FILE *in = fopen(path, "re");
    if (!in || fstat(fileno(in), &st) != 0 || !S_ISREG(st.st_mode)) {
        faults_add(f, path, 0, "can't be read: %s; expected a file", in ? "not a regular file" : strerror(errno));
        if (in)
            fclose(in);
        return false;
    }
    out->len = fread(out->text, 1, FILE_TEXT_MAX, in);
    bool more = fgetc(in) != EOF;
    bool bad = ferror(in);
    fclose(in);
    out->text[out->len] = '\0';
    if (bad || more) {
        faults_add(f, path, 0, bad ? "can't be read to its end" : "longer than 65536 bytes; expected a short INI file");
        return false;
    }
    return check_bytes(out, f);
}
