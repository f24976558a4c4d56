#include "server/passphrase.hpp"

#include <algorithm>
#include <array>
#include <new>
#include <stdexcept>

#include <sodium.h>

#include "server/common_passphrases.hpp"
#include "server/target.hpp"

namespace evenhand::server {
namespace {

// Words that people are known to take for a password, alone, twice, or with digits and signs after them, and
// those of this trade; beside the long list of passwords in common use, which is looked up as it is.
constexpr std::array common_words{
    std::string_view("password"),  std::string_view("passwort"),   std::string_view("passphrase"),
    std::string_view("letmein"),   std::string_view("welcome"),    std::string_view("iloveyou"),
    std::string_view("sunshine"),  std::string_view("princess"),   std::string_view("football"),
    std::string_view("baseball"),  std::string_view("basketball"), std::string_view("superman"),
    std::string_view("batman"),    std::string_view("dragon"),     std::string_view("monkey"),
    std::string_view("master"),    std::string_view("shadow"),     std::string_view("michael"),
    std::string_view("jennifer"),  std::string_view("jordan"),     std::string_view("charlie"),
    std::string_view("trustno"),   std::string_view("starwars"),   std::string_view("computer"),
    std::string_view("internet"),  std::string_view("secret"),     std::string_view("changeme"),
    std::string_view("default"),   std::string_view("admin"),      std::string_view("administrator"),
    std::string_view("student"),   std::string_view("instructor"), std::string_view("teacher"),
    std::string_view("professor"), std::string_view("university"), std::string_view("college"),
    std::string_view("school"),    std::string_view("therapy"),    std::string_view("therapist"),
    std::string_view("physio"),    std::string_view("physical"),   std::string_view("balance"),
    std::string_view("pediatric"), std::string_view("children"),   std::string_view("evenhand"),
    std::string_view("practice"),  std::string_view("rater"),      std::string_view("qwerty"),
    std::string_view("qwertz"),    std::string_view("azerty"),     std::string_view("abc"),
    std::string_view("test"),      std::string_view("testing"),    std::string_view("hello"),
    std::string_view("login"),     std::string_view("access"),     std::string_view("summer"),
    std::string_view("winter"),    std::string_view("spring"),     std::string_view("autumn"),
    std::string_view("monday"),    std::string_view("friday"),     std::string_view("january"),
    std::string_view("december"),  std::string_view("whatever"),   std::string_view("cheese"),
    std::string_view("flower"),    std::string_view("butterfly"),  std::string_view("chocolate"),
    std::string_view("liverpool"), std::string_view("chelsea"),    std::string_view("arsenal"),
    std::string_view("pokemon"),   std::string_view("freedom"),    std::string_view("killer"),
    std::string_view("hunter"),    std::string_view("soccer"),     std::string_view("hockey"),
    std::string_view("ninja"),     std::string_view("mustang"),    std::string_view("google"),
    std::string_view("facebook"),  std::string_view("samsung"),    std::string_view("iphone"),
};

// Rows of keyboards, the alphabet, the digits; read in both directions.
constexpr std::array rows{
    std::string_view("abcdefghijklmnopqrstuvwxyz"),
    std::string_view("01234567890123456789"),
    std::string_view("qwertyuiop"),
    std::string_view("qwertzuiop"),
    std::string_view("azertyuiop"),
    std::string_view("asdfghjkl"),
    std::string_view("zxcvbnm"),
    std::string_view("1qaz2wsx3edc4rfv5tgb6yhn"),
    std::string_view("1q2w3e4r5t6y7u8i9o0p"),
};

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string in_small_letters(std::string_view text) {
  std::string small(text);
  for (char& c : small)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return small;
}

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80; }

/// "abcabcab" is "abc" over and over.
bool over_and_over(std::string_view text) {
  for (std::size_t piece = 1; piece <= std::min<std::size_t>(4, text.size() / 2); ++piece)
    if (std::equal(text.begin() + static_cast<std::ptrdiff_t>(piece), text.end(), text.begin())) return true;
  return false;
}

/// Made of pieces of rows, each at least four long: "qwer1234".
bool of_rows(std::string_view text) {
  constexpr std::size_t shortest = 4;
  while (!text.empty()) {
    std::size_t longest = 0;
    for (const auto row : rows) {
      const std::string backwards(row.rbegin(), row.rend());
      for (std::size_t length = shortest; length <= text.size(); ++length) {
        const auto piece = text.substr(0, length);
        if (row.find(piece) == std::string_view::npos && backwards.find(piece) == std::string::npos) break;
        longest = std::max(longest, length);
      }
    }
    if (longest == 0) return false;
    text.remove_prefix(longest);
  }
  return true;
}

/// Its letters are one of the words, or that word twice, and nothing else but digits and signs around it.
bool is_word(std::string_view text, std::string_view word) {
  const auto from = std::find_if(text.begin(), text.end(), is_letter);
  const auto to = std::find_if(text.rbegin(), text.rend(), is_letter).base();
  if (from >= to) return false;
  const std::string_view core(&*from, static_cast<std::size_t>(to - from));
  return core == word || core == std::string(word) + std::string(word);
}

/// "p4ssw0rd" is read as "password".
std::string with_letters(std::string text) {
  constexpr std::string_view signs = "013457@$!", letters = "oleastasi";
  for (char& c : text)
    if (const auto at = signs.find(c); at != std::string_view::npos) c = letters[at];
  return text;
}

bool common(std::string_view passphrase) {
  const auto small = in_small_letters(passphrase);
  if (over_and_over(small) || of_rows(small)) return true;
  if (small.find(',') == std::string::npos &&
      common_passphrases().find("," + small + ",") != std::string_view::npos)
    return true;
  const auto read = with_letters(small);
  return std::any_of(common_words.begin(), common_words.end(),
                     [&](std::string_view word) { return is_word(small, word) || is_word(read, word); });
}

}  // namespace

Result<void> check_passphrase(std::string_view passphrase, std::string_view rater) {
  if (!clean_utf8(passphrase)) return fail(Errc::invalid, "A passphrase is one line of text.");
  const auto length = characters(passphrase);
  if (length < shortest_passphrase)
    return fail(Errc::invalid, "A passphrase has at least {} characters; a few words are good.",
                shortest_passphrase);
  if (length > longest_passphrase)
    return fail(Errc::invalid, "A passphrase has at most {} characters.", longest_passphrase);
  const auto small = in_small_letters(passphrase);
  if (is_word(small, in_small_letters(rater)) || small == in_small_letters(rater))
    return fail(Errc::invalid,
                "The rater id is known to others: choose a passphrase that does not follow from it.");
  if (common(passphrase))
    return fail(Errc::invalid,
                "That is among the first that anybody would try; take a few words of your own.");
  return {};
}

std::string hash_passphrase(std::string_view passphrase) {
  std::array<char, crypto_pwhash_STRBYTES> hash{};
  if (sodium_init() < 0) throw std::runtime_error("libsodium cannot be used");
  if (crypto_pwhash_str(hash.data(), passphrase.data(), passphrase.size(), passphrase_passes,
                        passphrase_memory) != 0)
    throw std::bad_alloc();
  return hash.data();
}

bool is_passphrase(std::string_view passphrase, const std::string& hash) {
  if (sodium_init() < 0) throw std::runtime_error("libsodium cannot be used");
  return crypto_pwhash_str_verify(hash.c_str(), passphrase.data(), passphrase.size()) == 0;
}

bool outdated(const std::string& hash) {
  return crypto_pwhash_str_needs_rehash(hash.c_str(), passphrase_passes, passphrase_memory) != 0;
}

}  // namespace evenhand::server
