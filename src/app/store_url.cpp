// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/store_url.h"

#include <algorithm>
#include <cctype>

#include "clockassay/base/printable.h"

namespace clockassay {
namespace {

std::string small_letters(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) {
    return static_cast<char>(std::tolower(c));
  });
  return text;
}

/// A server's URL in parts; what is not there is empty.
struct Parts {
  std::string user;  ///< and password
  std::string place;
  std::string settings;
};

// The last @ ends the user's part, whatever is in a password.
Parts parts_of(const std::string& url) {
  const std::size_t from = url.find("//") + 2;
  std::size_t at = url.rfind('@');
  if (at == std::string::npos || at < from) at = from;
  Parts parts;
  const bool has_user = at > from;
  if (has_user) parts.user = url.substr(from, at - from);
  const std::string rest = url.substr(has_user ? at + 1 : from);
  const std::size_t question = std::min(rest.find('?'), rest.size());
  parts.place = rest.substr(0, question);
  if (question < rest.size()) parts.settings = rest.substr(question + 1);
  return parts;
}

// "sqlite" of "sqlite:results.db"; empty of a path. One letter may be a
// drive's.
std::string scheme_of(const std::string& url) {
  const std::size_t end =
      url.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789+.-");
  const bool is_one = end != std::string::npos && end > 1 && url[end] == ':' &&
                      url.front() >= 'a' && url.front() <= 'z';
  return is_one ? url.substr(0, end) : "";
}

tl::unexpected<Error> no_url(const std::string& message, std::string hint) {
  return failure(ErrorCode::kUsage, "--store: " + message, std::move(hint));
}

}  // namespace

bool is_server_url(const std::string& url) {
  const std::string small = small_letters(url);
  return small.starts_with("postgresql://") || small.starts_with("postgres://");
}

Result<void> check_store_url(const std::string& url) {
  constexpr const char* kFile = "name a file, such as results.db";
  if (url.empty()) return no_url("found nothing, expected a store", kFile);
  if (url == ":memory:") {
    return no_url("a store in memory is gone at the end", kFile);
  }
  if (!is_server_url(url)) {
    const std::string small = small_letters(url);
    if (small.starts_with("postgres") && small.find(':') != std::string::npos) {
      return no_url("found a server without \"//\"",
                    "write postgresql://USER@HOST/DATABASE");
    }
    if (const std::string scheme = scheme_of(small); !scheme.empty()) {
      return no_url("found \"" + printable(scheme) +
                        ":\", expected a file or postgresql://",
                    "an SQLite file is named as it is; where that is its name, "
                    "with ./ before it");
    }
    if (url.find('"') != std::string::npos) {
      return no_url("the path of a store cannot hold a quotation mark", kFile);
    }
    return {};
  }
  const Parts parts = parts_of(url);
  if (parts.user.find_first_of("@/?#") != std::string::npos) {
    return no_url("a password holds a sign that ends it in a URL",
                  "write it as %40 for @, %2F for /, %3F for ?, or leave the "
                  "password to PGPASSWORD or a password file");
  }
  return {};
}

std::string shown_url(const std::string& url) {
  return is_server_url(url) ? "postgresql://" + parts_of(url).place : url;
}

std::vector<std::string> secrets_of(const std::string& url) {
  if (!is_server_url(url)) return {};
  const Parts parts = parts_of(url);
  std::vector<std::string> secrets;
  const std::size_t colon = parts.user.find(':');
  if (colon != std::string::npos) {
    secrets.push_back(parts.user);
    secrets.push_back(parts.user.substr(colon + 1));
  }
  const std::size_t setting = parts.settings.find("password=");
  if (setting != std::string::npos) {
    const std::size_t from = setting + std::string("password=").size();
    secrets.push_back(parts.settings.substr(
        from, std::min(parts.settings.find('&', from), parts.settings.size()) -
                  from));
  }
  std::erase(secrets, "");
  std::sort(secrets.begin(), secrets.end(),
            [](const std::string& a, const std::string& b) {
              return a.size() > b.size();
            });
  return secrets;
}

}  // namespace clockassay
