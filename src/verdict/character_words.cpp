// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/character_words.h"

namespace clockassay {
namespace {

const char* kind_words(CharacterKind kind) {
  switch (kind) {
    case CharacterKind::kCrystalLike:
      return "one of a crystal";
    case CharacterKind::kRcLike:
      return "one without a crystal, such as an RC oscillator";
    case CharacterKind::kPllWithSpur:
      return "a PLL with a spur, or has something coupled in";
    case CharacterKind::kSpreadSpectrum:
      return "one with spread spectrum";
    case CharacterKind::kSlewing:
      return "one on its way to another frequency, not locked or starting";
    case CharacterKind::kCannotTell:
      break;
  }
  return nullptr;
}

}  // namespace

std::optional<std::string> behaves_like(const OscillatorCharacter& character) {
  const char* words = kind_words(character.kind);
  if (words == nullptr) return std::nullopt;
  std::string sentence = std::string("The clock behaves like ") + words;
  const char* between = ": ";
  for (const std::string& seen : character.evidence) {
    sentence += between + seen;
    between = "; ";
  }
  return sentence + ".";
}

}  // namespace clockassay
