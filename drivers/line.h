/* Line: what the drivers that read a terminal line (serial, tty) share: which paths are whose, the lock, the reading and
 * writing of a non-blocking descriptor, and the sentence for what the system refused. */
#ifndef DRIVERS_LINE_H
#define DRIVERS_LINE_H

#include "drivers/driver.h"

/* A device text that is a path: it has a '/', and no ':' stands before it ("replay:a/b" is none). */
bool line_is_path(const char *device);
/* True if the path leads to a pseudo-terminal now, or, when what it names is missing, would by its name. */
bool line_is_pty(const char *device);

/* What stands behind "modbus:" in a device text, TTY:ADDRESS (a path may hold colons, so the last one counts), or NULL. */
const char *line_of_modbus(const char *device);

/* Microseconds of one byte with its start, parity and stop bits, rounded up; 0 for baud 0. */
uint32_t line_byte_us(const struct profile *profile);

/* Opens the path for reading and writing without waiting for anything, as nobody's controlling terminal, checks that it
 * is a terminal and takes the exclusive lock on it. *fd: the descriptor, -1 on failure. */
enum driver_result line_open(const char *path, const char *device, int *fd, char *why);
/* What an errno of opening or setting a device means, and the sentence for it. path is what device leads to. */
enum driver_result line_refused(int err, const char *path, const char *device, char *why);

/* As driver's feed and send. A read of 0 bytes is an unplug only if the line has hung up. */
int line_feed(int fd, uint8_t *buf, size_t cap);
enum driver_result line_send(int fd, const char *bytes, size_t len);
/* True if the other end has hung up or the adaptor is gone; a line that is only quiet has not. */
bool line_hung_up(int fd);
/* As driver's watch: readable, or hung up (which poll always tells). */
void line_watch(const struct port *p, int *fd, short *events);

#endif
