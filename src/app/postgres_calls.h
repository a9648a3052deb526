// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/result.h"

namespace clockassay {

/// Loads the client library of PostgreSQL, which nothing but a store on a
/// server needs: linked in, it would be loaded at every start.
/// Errors: kCannotCreate where it is not installed
Result<void> have_postgres_client();

}  // namespace clockassay
