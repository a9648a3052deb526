// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/store.h"

#include <soci/postgresql/soci-postgresql.h>
#include <soci/soci.h>
#include <soci/sqlite3/soci-sqlite3.h>

#include <boost/uuid/detail/sha1.hpp>
#include <cstdio>
#include <filesystem>
#include <map>
#include <utility>

#include "app/postgres_calls.h"
#include "app/store_schema.h"
#include "clockassay/base/printable.h"

namespace clockassay {
namespace {

// Others may be writing: how long to wait for them. Chosen.
constexpr int kWaitSeconds = 60;

std::string digest_of(const StoredRow& row) {
  const std::string text = identity_text(row);
  boost::uuids::detail::sha1 hash;
  hash.process_bytes(text.data(), text.size());
  unsigned int words[5];
  hash.get_digest(words);
  char hex[41];
  std::snprintf(hex, sizeof hex, "%08x%08x%08x%08x%08x", words[0], words[1],
                words[2], words[3], words[4]);
  return hex;
}

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

tl::unexpected<Error> store_error(ErrorCode code, const std::string& url,
                                  const std::string& why) {
  Error error{code, why,
              "a store is an SQLite file that --store wrote, a path where none "
              "is yet, or postgresql://USER@HOST/DATABASE"};
  error.path = without_password(url);
  return tl::unexpected(std::move(error));
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
    const std::string digest = digest_of(row);
    int there = 0;
    sql << "SELECT COUNT(*) FROM clockassay_result WHERE digest = :d",
        soci::use(digest), soci::into(there);
    if (there > 0) return false;
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
    sql << "INSERT INTO clockassay_result (digest, taken_s, capture, clock, "
           "channel, command, tool_version, expected_hz, frequency_hz, "
           "error_ppm, expanded_ppm, period_jitter_s, duty, decision) VALUES "
           "(:digest, :taken, :capture, :clock, :channel, :command, :version, "
           ":expected, :frequency, :error, :expanded, :jitter, :duty, "
           ":decision)",
        soci::use(digest), soci::use(row.taken_s), soci::use(capture),
        soci::use(clock), soci::use(channel), soci::use(row.command),
        soci::use(row.tool_version),
        soci::use(expected.value, expected.indicator),
        soci::use(frequency.value, frequency.indicator),
        soci::use(error.value, error.indicator),
        soci::use(expanded.value, expanded.indicator),
        soci::use(jitter.value, jitter.indicator),
        soci::use(duty.value, duty.indicator),
        soci::use(decision.value, decision.indicator);
    for (const Tag& tag : row.tags) {
      const std::string key = lossless_utf8(tag.key);
      const std::string value = lossless_utf8(tag.value);
      sql << "INSERT INTO clockassay_tag (digest, name, value) VALUES "
             "(:digest, :name, :value)",
          soci::use(digest), soci::use(key), soci::use(value);
    }
    return true;
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

  std::vector<StoredRow> read() {
    auto tags = read_tags();
    std::vector<StoredRow> rows;
    const soci::rowset<soci::row> found =
        (sql.prepare
         << "SELECT digest, taken_s, capture, clock, channel, command, "
            "tool_version, expected_hz, frequency_hz, error_ppm, expanded_ppm, "
            "period_jitter_s, duty, decision FROM clockassay_result ORDER BY "
            "taken_s, digest");
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
      row.tags = std::move(tags[r.get<std::string>(0)]);
      rows.push_back(std::move(row));
    }
    return rows;
  }

  void connect() {
    if (is_server) {
      sql.open(*soci::factory_postgresql(), url);
    } else {
      sql.open(*soci::factory_sqlite3(),
               "db=\"" + url + "\" timeout=" + std::to_string(kWaitSeconds));
    }
  }
};

Store::Store(std::unique_ptr<Session> session) : session_(std::move(session)) {}
Store::Store(Store&&) noexcept = default;
Store::~Store() = default;

Result<Store> Store::open(const std::string& url, bool may_create) {
  auto session = std::make_unique<Session>();
  session->url = url;
  session->is_server = is_server_url(url);
  std::error_code ignored;
  if (session->is_server) {
    if (auto there = have_postgres_client(); !there) {
      return store_error(ErrorCode::kCannotCreate, url, there.error().message);
    }
  } else if (!may_create && !std::filesystem::exists(url, ignored)) {
    return store_error(ErrorCode::kNoInput, url,
                       "cannot open: No such file or directory");
  }
  try {
    session->connect();
    session->begin();
    if (const auto why = bring_schema_up(session->sql, session->is_server)) {
      session->roll_back();
      return store_error(ErrorCode::kBadData, url, *why);
    }
    session->commit();
  } catch (const std::exception& e) {
    session->roll_back();
    return store_error(ErrorCode::kCannotCreate, url,
                       std::string("cannot use it as a store: ") + e.what());
  }
  return Store(std::move(session));
}

Result<std::size_t> Store::append(const std::vector<StoredRow>& rows) {
  std::size_t added = 0;
  try {
    session_->begin();
    for (const StoredRow& row : rows) added += session_->append(row) ? 1U : 0U;
    session_->commit();
  } catch (const std::exception& e) {
    session_->roll_back();
    return store_error(ErrorCode::kWriteFailed, session_->url,
                       std::string("cannot add to the store: ") + e.what());
  }
  return added;
}

Result<std::vector<StoredRow>> Store::read() {
  try {
    return session_->read();
  } catch (const std::exception& e) {
    return store_error(ErrorCode::kReadFailed, session_->url,
                       std::string("cannot read the store: ") + e.what());
  }
}

bool is_server_url(const std::string& url) {
  return url.starts_with("postgresql://") || url.starts_with("postgres://");
}

std::string without_password(const std::string& url) {
  if (!is_server_url(url)) return url;
  const std::size_t user = url.find("//") + 2;
  const std::size_t at = url.find('@', user);
  const std::size_t colon = url.find(':', user);
  if (at == std::string::npos || colon == std::string::npos || colon > at) {
    return url;
  }
  return url.substr(0, colon) + url.substr(at);
}

}  // namespace clockassay
