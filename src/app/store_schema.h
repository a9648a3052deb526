// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

namespace soci {
class session;
}

namespace clockassay {

/// Makes the tables of a store, or brings those of an earlier version up to
/// what is used now, within the transaction that is open.
/// Out:    what is wrong with it; absent: nothing
/// Throws: what the library throws
std::optional<std::string> bring_schema_up(soci::session& sql, bool is_server);

/// Whether it is a store that can be read as it is; nothing is made or changed.
/// Out, throws: as above
std::optional<std::string> look_at_schema(soci::session& sql, bool is_server);

/// Whether its results have what was known of the instrument's time.
/// Throws: as above
bool keeps_timebases(soci::session& sql);

}  // namespace clockassay
