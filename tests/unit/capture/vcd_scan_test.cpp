// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_scan.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <memory>
#include <random>
#include <string>
#include <tuple>
#include <vector>

#include "support/reading_oracle.h"
#include "support/simd_levels.h"

namespace clockassay {
namespace {

/// Identifiers with the net each stands for, VcdNets::kNotRead, or a bus.
using Ids = std::vector<std::pair<std::string, std::int32_t>>;

VcdScanIds scan_ids(const Ids& ids) {
  VcdNets nets;
  for (const auto& [id, net] : ids) {
    nets.ids.add(id);
    nets.net_of_id.push_back(net);
  }
  return VcdScanIds(nets);
}

constexpr std::int32_t kOther = VcdNets::kNotRead;
constexpr std::int32_t kBus = VcdNets::kFirstBus;
// All of one letter: clk is read, so is +, # is a bus.
const Ids kShort{
    {"!", 0}, {"\"", kOther}, {"#", kBus}, {"0", kOther}, {"+", 1}};
// The same, and longer ones.
const Ids kLong{{"!", 0},
                {"\"", kOther},
                {"#", kBus},
                {"0", kOther},
                {"+", 1},
                {"!!", kOther},
                {"!\"#", 2},
                {"abcdefg", kOther},
                {"abcdefgh", kOther}};

struct Taken {
  std::size_t size = 0;
  std::int64_t last_time = 0;
  // Time, net, level.
  std::vector<std::tuple<std::int64_t, int, int>> changes;
  bool operator==(const Taken&) const = default;
};

Taken taken(const VcdScanIds& ids, std::string_view bytes, std::int64_t time,
            std::size_t digits, SimdLevel simd = simd_level()) {
  const auto scan = std::make_unique<VcdScan>();
  scan->take(ids, bytes, time, digits, simd);
  Taken result{scan->size(), scan->last_time(), {}};
  const VcdScan::Changes changes = scan->changes();
  for (std::size_t i = 0; i < changes.times.size(); ++i) {
    result.changes.emplace_back(changes.times[i], changes.nets[i],
                                changes.high[i]);
  }
  return result;
}

const std::string kPadding(VcdScan::kLeastBytes, ' ');

constexpr const char* kBlanks = " \t\n\v\f\r";

/// What token after token gives, of `bytes` that are not cut off anywhere.
Taken expected(const Ids& ids, const std::string& bytes, std::int64_t time,
               std::size_t digits) {
  Taken result{0, time, {}};
  std::size_t at = std::min(bytes.find_first_not_of(kBlanks), bytes.size());
  result.size = at;
  while (at < bytes.size()) {
    const std::size_t end =
        std::min(bytes.find_first_of(kBlanks, at), bytes.size());
    const std::string token = bytes.substr(at, end - at);
    if (token.size() < 2) break;
    if (token[0] == '#') {
      if (token.size() != digits + 1 ||
          token.find_first_not_of("0123456789", 1) != token.npos ||
          std::stoll(token.substr(1)) < result.last_time) {
        break;
      }
      result.last_time = std::stoll(token.substr(1));
    } else {
      if (token[0] != '0' && token[0] != '1') break;
      std::int32_t net = kBus;
      for (const auto& [id, number] : ids) {
        const bool kept = id.size() <= VcdScanIds::kMostLetters;
        if (kept && id == token.substr(1)) net = number;
      }
      if (net == kBus) break;
      if (net >= 0) {
        result.changes.emplace_back(result.last_time, net, token[0] == '1');
      }
    }
    at = bytes.find_first_not_of(kBlanks, end);
    at = std::min(at, bytes.size());
    result.size = at;
  }
  return result;
}

void check_all_levels(const Ids& ids, const std::string& bytes,
                      std::int64_t time, std::size_t digits) {
  const VcdScanIds known = scan_ids(ids);
  const Taken plain =
      taken(known, bytes + kPadding, time, digits, SimdLevel::kPlain);
  Taken want = expected(ids, bytes + kPadding, time, digits);
  // What follows it is blank, of which the scan may leave some.
  const std::size_t token_end = bytes.find_last_not_of(kBlanks) + 1;
  if (want.size >= token_end) {
    CHECK(plain.size >= token_end);
    want.size = plain.size;
  }
  CAPTURE(bytes);
  CHECK(plain == want);
  for (const SimdLevel simd : test::simd_levels()) {
    CHECK(taken(known, bytes + kPadding, time, digits, simd) == plain);
  }
}

TEST_CASE("VcdScan: takes stamps and changes, by hand") {
  const std::string bytes = "#0010\n1!\n0\"\n#0020\n#0021 0!\t1!\r\n10\n1+\n";
  const Taken all = taken(scan_ids(kShort), bytes + kPadding, 9, 4);
  CHECK(all.size >= bytes.size());
  CHECK(all.last_time == 21);
  CHECK(all.changes ==
        decltype(all.changes){{10, 0, 1}, {21, 0, 0}, {21, 0, 1}, {21, 1, 1}});
  // A change before the first stamp belongs to the one before.
  CHECK(taken(scan_ids(kShort), "1!\n" + kPadding, 9, 4).changes ==
        decltype(all.changes){{9, 0, 1}});
  // Nothing is taken at the end of the bytes, where tokens may go on.
  CHECK(taken(scan_ids(kShort), bytes, 9, 4).size == 0);
  CHECK(taken(scan_ids(kShort), "", 9, 4) == Taken{0, 9, {}});
}

TEST_CASE("VcdScan: ends before what is no plain token") {
  for (const Ids& ids : {kShort, kLong}) {
    for (const char* token :
         {"x!",     "z\"",   "$comment", "b1010 #",   "r1.5 !",    "1#",
          "1~",     "0 !",   "#002",     "#00200",    "#0a20",     "#00.0",
          "#",      "#0009", "2!",       "1!~",       "1",         "1\x01",
          "1!\x01", "1\x80", "1\xA1",    "1abcdefgh", "1abcdefghi"}) {
      CAPTURE(token);
      // Before it as many bytes as bring it across the end of a chunk.
      for (std::size_t n = 0; n < 80; ++n) {
        std::string bytes = "#0010\n" + std::string(n, ' ');
        while (n > 20 && bytes.size() % 7 != 0) bytes += "1!\n";
        check_all_levels(ids, bytes + token + "\n#0030\n0!\n", 9, 4);
      }
    }
  }
}

TEST_CASE("VcdScan: as token after token, any bytes, any level") {
  constexpr unsigned kSeed = 23;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  for (int trial = 0; trial < 4000; ++trial) {
    CAPTURE(trial);
    const Ids& ids = trial % 2 == 0 ? kShort : kLong;
    const std::size_t digits = 1 + below(VcdScan::kMostDigits);
    std::int64_t most = 1;
    for (std::size_t i = 0; i < digits; ++i) most *= 10;
    std::int64_t time = most / 2;
    std::string bytes;
    for (std::size_t n = below(200); n > 0; --n) {
      if (below(3) == 0) {
        time = std::min<std::int64_t>(
            most - 1, time + static_cast<std::int64_t>(below(1000)));
        const std::string text = std::to_string(time);
        bytes += "#" + std::string(digits - text.size(), '0') + text;
      } else {
        const auto& [id, net] = ids[below(ids.size())];
        const bool known = net != kBus && id.size() <= VcdScanIds::kMostLetters;
        bytes += (below(2) == 0 ? "0" : "1") + (known ? id : "!");
      }
      bytes += std::string(1 + below(40) / 39, " \n\t\r\v\f"[below(6)]);
    }
    const Taken whole =
        taken(scan_ids(ids), bytes + kPadding, most / 2, digits);
    if (whole.changes.size() + bytes.size() / 2 < 1000) {
      CHECK(whole.size >= bytes.size());
    }
    check_all_levels(ids, bytes, most / 2, digits);
    if (bytes.empty()) continue;
    bytes[below(bytes.size())] = static_cast<char>(random() % 256);
    check_all_levels(ids, bytes, most / 2, digits);
  }
}

TEST_CASE("VcdScan: takes a part of what it has no room for") {
  std::string bytes;
  for (std::size_t i = 0; i < 5000; ++i) {
    bytes += "#" + std::to_string(10000 + i) + (i % 2 == 0 ? " 1!\n" : " 0!\n");
  }
  for (const Ids& ids : {kShort, kLong}) {
    const VcdScanIds known = scan_ids(ids);
    const Taken plain = taken(known, bytes, 0, 5, SimdLevel::kPlain);
    CHECK(plain.size > 5000);
    CHECK(plain.size % 10 < 8);  // not within a stamp or change
    for (const SimdLevel simd : test::simd_levels()) {
      CHECK(plain == taken(known, bytes, 0, 5, simd));
    }
    CHECK(plain == expected(ids, bytes.substr(0, plain.size), 0, 5));
  }
}

/// A file of the kind that scans take, with some of what they do not.
std::string random_file(std::mt19937_64& random, std::size_t oddities) {
  const auto below = [&](std::uint64_t n) {
    return static_cast<std::size_t>(random() % n);
  };
  const std::vector<std::string> ids = {"!",  "\"",  "#",
                                        "$x", "abc", "longer_id"};
  const std::size_t count = 1 + below(ids.size());
  std::string text = "$timescale 1ns $end\n$var wire 1 ! clk $end\n";
  for (std::size_t i = 1; i < count; ++i) {
    text += "$var wire 1 " + ids[i] + " s" + std::to_string(i) + " $end\n";
  }
  text += "$var wire 4 % bus $end\n$enddefinitions $end\n#5 0!\n";
  std::size_t time = 5 + below(3) * 990;
  for (std::size_t n = 0; n < 300; ++n) {
    if (oddities > 0 && below(300 / oddities) == 0) {
      static const char* const kOdd[] = {"x!",
                                         "zabc",
                                         "b1010 %",
                                         "$comment a #7 1! $end",
                                         "1~",
                                         "0 !",
                                         "$dumpoff x! $end",
                                         "$dumpon 1! $end",
                                         "h!",
                                         "r1.5 %",
                                         "#7",
                                         "#99999999999",
                                         "b1 !",
                                         "1%",
                                         "#",
                                         "$dumpall 0! $end",
                                         "2!",
                                         "1\x01",
                                         "$end",
                                         "#5.0",
                                         "1",
                                         "$vcdclose #9999999 $end",
                                         "#-1",
                                         "$dump"};
      text += kOdd[below(std::size(kOdd))];
    } else if (below(2) == 0) {
      time += below(20);
      text += "#" + std::to_string(time);
    } else {
      text += (below(2) == 0 ? "0" : "1") + ids[below(count)];
    }
    text += below(30) == 0 ? "\r\n" : "\n";
  }
  if (below(2) == 0) text.resize(text.size() - below(4));
  return text;
}

TEST_CASE("vcd: read many tokens at a time as one by one, any level") {
  constexpr unsigned kSeed = 24;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  for (int trial = 0; trial < 600; ++trial) {
    CAPTURE(trial);
    const std::string text =
        random_file(random, static_cast<std::size_t>(trial % 4));
    ReadOptions options;
    if (trial % 3 != 0) options.channels = {"clk"};
    const std::string whole = test::all_facts(test::read_text(text, options));
    // Pieces of a stamp each are shorter than what a scan takes.
    for (const std::size_t piece : {1u, 100u, 150u, 500u}) {
      CHECK(test::reading_fault(text, options, {piece, 1}) == std::nullopt);
    }
    test::at_each_simd_level([&] {
      CHECK(test::all_facts(test::read_text(text, options)) == whole);
    });
  }
}

TEST_CASE("vcd: a scan ends at any cut") {
  std::mt19937_64 random(25);
  const std::string text = random_file(random, 1);
  for (std::size_t piece = 1; piece <= text.size(); ++piece) {
    CAPTURE(piece);
    REQUIRE(test::reading_fault(text, {}, {piece, 1}) == std::nullopt);
  }
}

}  // namespace
}  // namespace clockassay
