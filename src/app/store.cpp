// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/store.h"

#include <soci/postgresql/soci-postgresql.h>
#include <soci/soci.h>
#include <soci/sqlite3/soci-sqlite3.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iterator>
#include <limits>
#include <map>
#include <new>
#include <utility>

#include "app/postgres_calls.h"
#include "app/question_digest.h"
#include "app/store_schema.h"
#include "app/store_url.h"
#include "clockassay/base/printable.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {
namespace {

// Others may be writing: how long to wait for them. Chosen.
constexpr int kWaitSeconds = 60;
constexpr int kConnectSeconds = 15;

template <class Kind>
std::optional<double> number(const std::optional<Quantity<Kind>>& q) {
  return q ? std::optional(q->value()) : std::nullopt;
}

/// A value that may be null, as the library binds it.
template <class T>
struct Nullable {
  explicit Nullable(const std::optional<T>& given)
      : value(given.value_or(T{})),
        indicator(given ? soci::i_ok : soci::i_null) {}
  T value;
  soci::indicator indicator;
};

template <class Q>
std::optional<Q> quantity_at(const soci::row& row, std::size_t column) {
  if (row.get_indicator(column) == soci::i_null) return std::nullopt;
  return Q(row.get<double>(column));
}

std::optional<double> number_at(const soci::row& row, std::size_t column) {
  if (row.get_indicator(column) == soci::i_null) return std::nullopt;
  return row.get<double>(column);
}

/// From three columns on. In: from  of its kind
std::optional<Timebase> timebase_at(const soci::row& row, std::size_t from) {
  if (row.get_indicator(from) == soci::i_null) return std::nullopt;
  const auto kind = timebase_kind_of(row.get<std::string>(from));
  const auto offset = number_at(row, from + 1);
  const auto tolerance = number_at(row, from + 2);
  if (!kind || !offset || !tolerance) return std::nullopt;
  return Timebase{*kind, Ppm(*offset), Ppm(*tolerance)};
}

constexpr const char* kWhatAStoreIs =
    "a store is an SQLite file that --store wrote, a path where none is yet, "
    "or "
    "postgresql://USER@HOST/DATABASE";

tl::unexpected<Error> store_error(ErrorCode code, const std::string& url,
                                  const std::string& why,
                                  std::string hint = {}) {
  Error error{code, why, std::move(hint)};
  error.path = shown_url(url);
  return tl::unexpected(std::move(error));
}

// What the library says, on one line, without the statement it was at, and
// without anything that the URL has of a password.
std::string in_words(const std::exception& e, const std::string& url) {
  if (dynamic_cast<const std::bad_alloc*>(&e) != nullptr) {
    return "not enough memory";
  }
  std::string text = e.what();
  text.erase(std::min(text.find(" while executing"), text.size()));
  std::replace(text.begin(), text.end(), '\n', ' ');
  for (const std::string& secret : secrets_of(url)) {
    for (std::size_t at = text.find(secret); at != std::string::npos;
         at = text.find(secret, at + 1)) {
      text.replace(at, secret.size(), "*");
    }
  }
  return text;
}

tl::unexpected<Error> not_added(const std::string& url,
                                const std::exception& e) {
  return store_error(ErrorCode::kWriteFailed, url,
                     "cannot add to the store: " + in_words(e, url),
                     "nothing of it was added; when the cause is gone, run it "
                     "again");
}

// The column of a row that no result of ours has; nullptr where all is right.
// Anybody can write to a file or a database.
const char* wrong_column(const StoredRow& row) {
  constexpr double kLatest = 253402300800.0;  // s, the end of the year 9999
  const auto is_within = [](const auto& value, double low, double high) {
    return !value || (*value >= low && *value <= high);
  };
  constexpr double kMost = std::numeric_limits<double>::max();
  constexpr double kLeast = std::numeric_limits<double>::min();
  if (!(std::abs(row.taken_s) < kLatest)) return "taken_s";
  if (!is_within(number(row.expected), kLeast, kMost)) return "expected_hz";
  if (!is_within(number(row.frequency), kLeast, kMost)) return "frequency_hz";
  if (!is_within(number(row.error), -kMost, kMost)) return "error_ppm";
  if (!is_within(number(row.expanded), 0.0, kMost)) return "expanded_ppm";
  if (!is_within(number(row.period_jitter), 0.0, kMost)) {
    return "period_jitter_s";
  }
  if (!is_within(row.duty, 0.0, 1.0)) return "duty";
  constexpr Decision kDecisions[] = {Decision::kPass, Decision::kFail,
                                     Decision::kUndecided};
  const bool is_decision =
      !row.decision || std::any_of(std::begin(kDecisions), std::end(kDecisions),
                                   [&row](Decision d) {
                                     return *row.decision == decision_name(d);
                                   });
  return is_decision ? nullptr : "decision";
}

// A path is a path: the engine takes what begins with "file:" for a URI, by
// which a store could be one in memory.
std::string plain_path(const std::string& path) {
  return path.starts_with('/') ? path : "./" + path;
}

// The library takes a URL for a list of settings and needs one in it; a server
// that does not answer must not hold a rig up.
std::string with_timeout(const std::string& url) {
  if (url.find("connect_timeout=") != std::string::npos) return url;
  return url + (url.find('?') == std::string::npos ? "?" : "&") +
         "connect_timeout=" + std::to_string(kConnectSeconds);
}

}  // namespace

struct Store::Session {
  soci::session sql;
  std::string url;
  bool is_server = false;

  /// A transaction that has its say at once about who writes: two that read
  /// first and write then would wait for each other.
  void begin() { sql << (is_server ? "BEGIN" : "BEGIN IMMEDIATE"); }
  void commit() { sql << "COMMIT"; }
  void roll_back() noexcept {
    try {
      sql << "ROLLBACK";
    } catch (...) {
      // The connection is gone, and the transaction with it.
    }
  }

  bool append(const StoredRow& row) {
    const std::string digest = sha1_of(identity_text(row));
    // A database takes text, and paths and names may be any bytes.
    const std::string capture = lossless_utf8(row.capture);
    const std::string clock = lossless_utf8(row.clock);
    const std::string channel = lossless_utf8(row.channel);
    Nullable expected(number(row.expected));
    Nullable frequency(number(row.frequency));
    Nullable error(number(row.error));
    Nullable expanded(number(row.expanded));
    Nullable jitter(number(row.period_jitter));
    Nullable duty(row.duty);
    Nullable decision(row.decision);
    std::optional<std::string> kind_name;
    std::optional<double> offset_ppm, tolerance_ppm;
    if (row.timebase) {
      kind_name = timebase_kind_name(row.timebase->kind);
      offset_ppm = row.timebase->offset.value();
      tolerance_ppm = row.timebase->tolerance.value();
    }
    Nullable kind(kind_name);
    Nullable offset(offset_ppm);
    Nullable tolerance(tolerance_ppm);
    soci::statement insert =
        (sql.prepare
             << "INSERT INTO clockassay_result (digest, taken_s, capture, "
                "clock, "
                "channel, command, tool_version, expected_hz, frequency_hz, "
                "error_ppm, expanded_ppm, period_jitter_s, duty, decision, "
                "timebase_kind, timebase_offset_ppm, timebase_tolerance_ppm) "
                "VALUES "
                "(:digest, :taken, :capture, :clock, :channel, :command, "
                ":version, "
                ":expected, :frequency, :error, :expanded, :jitter, :duty, "
                ":decision, :kind, :offset, :tolerance) ON CONFLICT (digest) "
                "DO NOTHING",
         soci::use(digest), soci::use(row.taken_s), soci::use(capture),
         soci::use(clock), soci::use(channel), soci::use(row.command),
         soci::use(row.tool_version),
         soci::use(expected.value, expected.indicator),
         soci::use(frequency.value, frequency.indicator),
         soci::use(error.value, error.indicator),
         soci::use(expanded.value, expanded.indicator),
         soci::use(jitter.value, jitter.indicator),
         soci::use(duty.value, duty.indicator),
         soci::use(decision.value, decision.indicator),
         soci::use(kind.value, kind.indicator),
         soci::use(offset.value, offset.indicator),
         soci::use(tolerance.value, tolerance.indicator));
    insert.execute(true);
    // Two that bring the same one: the other was first.
    if (insert.get_affected_rows() == 0) return false;

    add_tags(digest, row.tags);
    return true;
  }

  void add_tags(const std::string& digest, const std::vector<Tag>& tags) {
    for (const Tag& tag : tags) {
      const std::string key = lossless_utf8(tag.key);
      const std::string value = lossless_utf8(tag.value);
      sql << "INSERT INTO clockassay_tag (digest, name, value) VALUES "
             "(:digest, :name, :value)",
          soci::use(digest), soci::use(key), soci::use(value);
    }
  }

  std::map<std::string, std::vector<Tag>> read_tags() {
    std::map<std::string, std::vector<Tag>> tags;
    const soci::rowset<soci::row> found =
        (sql.prepare << "SELECT digest, name, value FROM clockassay_tag ORDER "
                        "BY digest, name");
    for (const soci::row& row : found) {
      tags[row.get<std::string>(0)].push_back(
          {row.get<std::string>(1), row.get<std::string>(2)});
    }
    return tags;
  }

  /// As of one moment.
  std::vector<StoredRow> read() {
    sql << (is_server ? "BEGIN ISOLATION LEVEL REPEATABLE READ" : "BEGIN");
    std::vector<StoredRow> rows = read_rows();
    commit();
    return rows;
  }

  std::vector<StoredRow> read_rows() {
    auto tags = read_tags();
    std::vector<StoredRow> rows;
    const bool has_timebase = keeps_timebases(sql);
    const std::string timebase = has_timebase
                                     ? ", timebase_kind, timebase_offset_ppm, "
                                       "timebase_tolerance_ppm"
                                     : "";
    const soci::rowset<soci::row> found =
        (sql.prepare
         << "SELECT digest, taken_s, capture, clock, channel, command, "
            "tool_version, expected_hz, frequency_hz, error_ppm, expanded_ppm, "
            "period_jitter_s, duty, decision" +
                timebase + " FROM clockassay_result ORDER BY taken_s, digest");
    for (const soci::row& r : found) {
      StoredRow row;
      row.taken_s = r.get<double>(1);
      row.capture = r.get<std::string>(2);
      row.clock = r.get<std::string>(3);
      row.channel = r.get<std::string>(4);
      row.command = r.get<std::string>(5);
      row.tool_version = r.get<std::string>(6);
      row.expected = quantity_at<Hertz>(r, 7);
      row.frequency = quantity_at<Hertz>(r, 8);
      row.error = quantity_at<Ppm>(r, 9);
      row.expanded = quantity_at<Ppm>(r, 10);
      row.period_jitter = quantity_at<Seconds>(r, 11);
      row.duty = number_at(r, 12);
      if (r.get_indicator(13) != soci::i_null) {
        row.decision = r.get<std::string>(13);
      }
      if (has_timebase) row.timebase = timebase_at(r, 14);
      row.tags = std::move(tags[r.get<std::string>(0)]);
      rows.push_back(std::move(row));
    }
    return rows;
  }

  void connect() {
    if (is_server) {
      sql.open(*soci::factory_postgresql(), with_timeout(url));
    } else {
      sql.open(*soci::factory_sqlite3(),
               "db=\"" + plain_path(url) +
                   "\" timeout=" + std::to_string(kWaitSeconds));
    }
  }

  std::size_t append_all(const std::vector<StoredRow>& rows) {
    std::size_t added = 0;
    begin();
    for (const StoredRow& row : rows) added += append(row) ? 1U : 0U;
    commit();
    return added;
  }
};

Store::Store(std::unique_ptr<Session> session) : session_(std::move(session)) {}
Store::Store(Store&&) noexcept = default;
Store::~Store() = default;

Result<Store> Store::open(const std::string& url, StoreUse use) {
  if (auto usable = check_store_url(url); !usable) {
    return tl::unexpected(usable.error());
  }
  auto session = std::make_unique<Session>();
  session->url = url;
  session->is_server = is_server_url(url);
  const bool may_create = use == StoreUse::kAppend;
  const ErrorCode cannot =
      may_create ? ErrorCode::kCannotCreate : ErrorCode::kNoInput;
  std::error_code ignored;
  if (session->is_server) {
    if (auto there = have_postgres_client(); !there) {
      return store_error(cannot, url, there.error().message,
                         there.error().hint);
    }
  } else if (!may_create && !std::filesystem::exists(url, ignored)) {
    return store_error(cannot, url, "cannot open: No such file or directory",
                       kWhatAStoreIs);
  }
  try {
    session->connect();
    if (may_create) {
      session->begin();
    } else {
      session->sql << "BEGIN";
    }
    const auto why = may_create
                         ? bring_schema_up(session->sql, session->is_server)
                         : look_at_schema(session->sql, session->is_server);
    if (why) {
      session->roll_back();
      return store_error(ErrorCode::kBadData, url, *why, kWhatAStoreIs);
    }
    session->commit();
  } catch (const std::exception& e) {
    session->roll_back();
    return store_error(cannot, url,
                       "cannot use it as a store: " + in_words(e, url),
                       kWhatAStoreIs);
  }
  return Store(std::move(session));
}

Result<std::size_t> Store::append(const std::vector<StoredRow>& rows) {
  try {
    return session_->append_all(rows);
  } catch (const std::exception& e) {
    session_->roll_back();
    if (!session_->is_server) return not_added(session_->url, e);
  }
  // A server may have been away, and be back.
  try {
    session_->sql.reconnect();
    return session_->append_all(rows);
  } catch (const std::exception& e) {
    session_->roll_back();
    return not_added(session_->url, e);
  }
}

Result<std::vector<StoredRow>> Store::read() {
  try {
    auto rows = session_->read();
    for (const StoredRow& row : rows) {
      const char* wrong = wrong_column(row);
      if (wrong == nullptr) continue;
      return store_error(
          ErrorCode::kBadData, session_->url,
          std::string("found a value of ") + wrong +
              " that no result has, expected what --store wrote",
          "go back to a copy of the store, or take that row out");
    }
    return rows;
  } catch (const std::exception& e) {
    session_->roll_back();
    return store_error(ErrorCode::kReadFailed, session_->url,
                       "cannot read the store: " + in_words(e, session_->url),
                       kWhatAStoreIs);
  }
}

}  // namespace clockassay
