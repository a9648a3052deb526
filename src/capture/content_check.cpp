// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/content_check.h"

#include <algorithm>
#include <cstddef>
#include <string>

namespace clockassay {
namespace {

struct Magic {
  std::string_view bytes;
  const char* name;
  const char* cure;
};

// First bytes of compressed files: RFC 1952 (gzip), RFC 8878 (Zstandard), the
// .xz file format 1.1.0, and those of bzip2 and zip, which are known from
// memory and only name what is refused anyway.
constexpr Magic kCompressed[] = {
    {"\x1F\x8B", "gzip", "packed twice? decompress it first: gzip -d"},
    {"\x28\xB5\x2F\xFD", "Zstandard",
     "packed twice? decompress it first: zstd -d"},
    {std::string_view("\xFD"
                      "7zXZ\0",
                      6),
     "xz", "decompress it first: xz -d"},
    {"BZh", "bzip2", "decompress it first: bzip2 -d"},
    {"PK\x03\x04", "zip", "unpack it first: unzip"},
};

// How much is searched for NUL bytes [bytes]. Chosen: binary formats show one
// much earlier, and text never.
constexpr std::size_t kSearched = 4096;

bool is_blank(char c) {
  return c == ' ' || (c >= '\t' && c <= '\r');
}

bool begins_ignoring_case(std::string_view text, std::string_view lower) {
  if (text.size() < lower.size()) return false;
  return std::equal(lower.begin(), lower.end(), text.begin(),
                    [](char want, char c) {
                      return want == (c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
                    });
}

Error refusal(std::string message, std::string hint, std::size_t byte = 0) {
  Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error.byte = static_cast<std::int64_t>(byte);
  return error;
}

// UTF-16 text has a NUL beside every ASCII character.
bool looks_like_utf16(std::string_view text) {
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF")) return true;
  const std::string_view start = text.substr(0, 8);
  if (start.size() < 8) return false;
  const auto nul_at = [start](std::size_t i) { return start[i] == '\0'; };
  const bool odd = nul_at(1) && nul_at(3) && nul_at(5) && nul_at(7);
  const bool even = nul_at(0) && nul_at(2) && nul_at(4) && nul_at(6);
  return odd != even;
}

}  // namespace

std::string_view without_byte_order_mark(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  return text;
}

std::optional<Error> refuse_content(std::string_view prefix, bool whole) {
  if (prefix.empty() && whole) {
    return refusal("found an empty file, expected a capture",
                   "record the capture again");
  }
  for (const Magic& magic : kCompressed) {
    if (!prefix.starts_with(magic.bytes)) continue;
    return refusal(std::string("found data compressed with ") + magic.name +
                       ", expected text (VCD or CSV)",
                   magic.cure);
  }
  if (looks_like_utf16(prefix)) {
    return refusal("found UTF-16 text, expected ASCII or UTF-8",
                   "convert it first: iconv -f UTF-16 -t UTF-8");
  }
  const std::size_t nul = prefix.substr(0, kSearched).find('\0');
  // After rows, NULs alone to the end are space laid out in advance.
  const bool rows = prefix.find('$') > nul;
  if (nul != std::string_view::npos &&
      (nul == 0 || !rows ||
       prefix.find_first_not_of('\0', nul) != std::string_view::npos)) {
    return refusal("found binary data (a NUL byte), expected text (VCD or CSV)",
                   "export the capture as VCD or CSV", nul);
  }
  const std::string_view text = without_byte_order_mark(prefix);
  const auto* begin = std::find_if_not(text.begin(), text.end(), is_blank);
  if (begin == text.end()) {
    if (!whole) return std::nullopt;
    return refusal("found nothing but blanks, expected a capture",
                   "record the capture again");
  }
  const std::string_view start(begin, text.end());
  for (std::string_view tag : {"<!doctype html", "<html", "<?xml"}) {
    if (begins_ignoring_case(start, tag)) {
      return refusal("found a web page or XML, expected a capture as text",
                     "download the file itself, not the page that shows it");
    }
  }
  return std::nullopt;
}

}  // namespace clockassay
