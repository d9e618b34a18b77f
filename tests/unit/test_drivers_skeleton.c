/* docs/driver-skeleton.c compiles and keeps the contract of drivers/driver.h; every driver in the list is complete. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "docs/driver-skeleton.c"

static void the_skeleton_keeps_the_contract(void **state)
{
    (void)state;
    const struct driver *d = &driver_skeleton;
    struct profile profile = {.baud = 9600};
    struct port port = {.driver = d, .fd = -1};
    uint8_t got[64];
    char why[DRIVER_WHY] = "";
    int fd;
    short events;
    assert_true(d->claims("skeleton:one"));
    assert_false(d->claims("/dev/ttyUSB0"));
    assert_null(driver_for("skeleton:one")); /* an example is not in the list */
    assert_int_equal(d->open(&port, "skeleton:", &profile, why), DRIVER_WRONG);
    assert_true(why[0]);
    assert_int_equal(d->open(&port, "skeleton:one", &profile, why), DRIVER_OK);
    d->watch(&port, &fd, &events);
    assert_int_equal(events, 0);
    assert_int_equal(d->wake(&port), 0);
    assert_int_equal(d->feed(&port, got, sizeof got, 5), 0);
    assert_int_equal(d->send(&port, "R", 1), DRIVER_OK);
    assert_int_equal(d->wake(&port), 1);
    assert_int_equal(d->feed(&port, got, sizeof got, 6), 13);
    assert_int_equal(d->feed(&port, got, sizeof got, 7), 0);
    d->close(&port);
    assert_int_equal(port.fd, -1);
}

static void every_driver_is_complete(void **state)
{
    (void)state;
    for (const struct driver *const *d = drivers; *d; d++) {
        assert_true((*d)->name[0] && (*d)->forms[0]);
        assert_non_null((*d)->claims);
        assert_non_null((*d)->open);
        assert_non_null((*d)->watch);
        assert_non_null((*d)->feed);
        assert_non_null((*d)->close);
        assert_false((*d)->claims(""));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_skeleton_keeps_the_contract),
        cmocka_unit_test(every_driver_is_complete),
    };
    return cmocka_run_group_tests_name("drivers_skeleton", tests, NULL, NULL);
}
