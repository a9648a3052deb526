// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/piece_cutter.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <span>
#include <string>
#include <vector>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::source_of;

// May be cut before every '|' that follows a '.': a place of two bytes, which
// a short look may see half of.
class BarParser final : public PieceParser {
 public:
  const Layout& layout() const override { return layout_; }
  std::size_t find_cut(std::string_view bytes,
                       std::size_t from) const override {
    const std::size_t at = bytes.find(".|", from - 1);
    return at == std::string_view::npos ? at : at + 1;
  }
  Piece parse(std::string_view, std::int64_t, ParseState, bool) const override {
    return {};
  }

 private:
  Layout layout_;
};

struct Cut {
  std::int64_t offset;
  std::string bytes;
  bool last;
  bool operator==(const Cut&) const = default;
};

std::vector<Cut> cuts_of(const std::string& text, std::size_t piece_bytes,
                         std::size_t most_at_once, std::size_t header = 0) {
  const ByteSource source = source_of(text, most_at_once);
  PieceCutter cutter(source, piece_bytes);
  if (header > 0) {
    CHECK(cutter.prefix(header).value() == text.substr(0, header));
    cutter.skip(header);
  }
  std::vector<Cut> cuts;
  while (true) {
    auto piece = cutter.next(BarParser());
    REQUIRE(piece);
    if (!*piece) return cuts;
    cuts.push_back({(*piece)->offset, (*piece)->bytes, (*piece)->last});
    if ((*piece)->last) return cuts;
  }
}

TEST_CASE("PieceCutter: cuts at the first place at or after each grid line") {
  // Places at 2, 5, 9; the grid at 4, 8, 12.
  const std::vector<Cut> expected{
      {0, "a.|b.", false}, {5, "|cd.", false}, {9, "|e", true}};
  for (const std::size_t most : {1U, 2U, 3U, 100U}) {
    CAPTURE(most);
    CHECK(cuts_of("a.|b.|cd.|e", 4, most) == expected);
  }
  // A place on the grid line itself.
  CHECK(cuts_of("abc.|d", 4, 100) ==
        std::vector<Cut>{{0, "abc.", false}, {4, "|d", true}});
}

TEST_CASE("PieceCutter: the grid is one of file offsets, header included") {
  const std::vector<Cut> expected{
      {3, "b.", false}, {5, "|cd.", false}, {9, "|e", true}};
  CHECK(cuts_of("a.|b.|cd.|e", 4, 2, 3) == expected);
}

TEST_CASE("PieceCutter: a piece without a place to cut is as long as it is") {
  // Beyond what is read ahead at once; the place is divided by every look.
  for (const std::size_t size : {1U, 4095U, 4096U, 4097U, 20'000U}) {
    CAPTURE(size);
    const std::string first = std::string(size, 'a') + ".";
    CHECK(cuts_of(first + "|b", 1, 1'000) ==
          std::vector<Cut>{{0, first, false},
                           {static_cast<std::int64_t>(size + 1), "|b", true}});
  }
  CHECK(cuts_of("abc", 1, 1) == std::vector<Cut>{{0, "abc", true}});
  CHECK(cuts_of("", 1, 1).empty());
}

TEST_CASE("PieceCutter: no piece grows without end") {
  // An input that has no place to cut, and no end.
  std::size_t asked = 0;
  const ByteSource endless = [&](std::span<char> out) -> Result<std::size_t> {
    std::fill(out.begin(), out.end(), 'a');
    asked += out.size();
    return out.size();
  };
  PieceCutter cutter(endless, 1000);
  const auto piece = cutter.next(BarParser());
  REQUIRE_FALSE(piece.has_value());
  CHECK(piece.error().code == ErrorCode::kBadData);
  CHECK(piece.error().byte == 0);
  CHECK(piece.error().message ==
        "found no end of a line or a statement within 67108864 bytes, expected "
        "shorter ones");
  CHECK(asked == kLongestUncut + 1000 + 1);
}

TEST_CASE("PieceCutter: the pieces make up the input, whatever their size") {
  std::string text;
  for (int i = 0; i < 3'000; ++i) text += std::to_string(i) + ".|";
  for (const std::size_t piece_bytes : {1U, 7U, 1'000U, 5'000U, 100'000U}) {
    CAPTURE(piece_bytes);
    const auto cuts = cuts_of(text, piece_bytes, 777);
    CHECK(cuts == cuts_of(text, piece_bytes, std::string::npos));
    std::string joined;
    for (const Cut& cut : cuts) {
      CHECK(cut.offset == static_cast<std::int64_t>(joined.size()));
      CHECK((cut.offset == 0 || cut.bytes[0] == '|'));
      joined += cut.bytes;
    }
    CHECK(joined == text);
    CHECK(cuts.back().last);
  }
}

TEST_CASE("PieceCutter: what the source says is passed on") {
  const ByteSource source = [](std::span<char>) -> Result<std::size_t> {
    return failure(ErrorCode::kReadFailed, "the disk is gone");
  };
  PieceCutter cutter(source, 10);
  const auto piece = cutter.next(BarParser());
  REQUIRE_FALSE(piece);
  CHECK(piece.error().message == "the disk is gone");
}

}  // namespace
}  // namespace clockassay
