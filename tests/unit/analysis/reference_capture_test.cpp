// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>
