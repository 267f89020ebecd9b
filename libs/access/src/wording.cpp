#include "wording.h"

#include <arpa/inet.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "hingeline/base/utf8.h"

namespace hingeline::access {
namespace {

/// Words that people make passwords of by putting figures and signs round them, some languages' and this
/// trade's (common knowledge, from memory). Nothing shorter than a password's least length is needed here,
/// but the words are: "password12" is ten characters long.
constexpr std::array kCommonWords{
    "password",   "passwort",   "passphrase", "motdepasse", "contrasena",      "wachtwoord",
    "parola",     "senha",      "qwerty",     "qwertz",     "azerty",          "qwertyuiop",
    "qwertzuiop", "azertyuiop", "asdfghjkl",  "zxcvbnm",    "asdfgh",          "iloveyou",
    "letmein",    "welcome",    "willkommen", "bienvenue",  "admin",           "administrator",
    "root",       "login",      "changeme",   "secret",     "geheim",          "default",
    "test",       "testtest",   "monkey",     "dragon",     "sunshine",        "princess",
    "football",   "baseball",   "superman",   "trustno",    "saxophone",       "saxophon",
    "clarinet",   "klarinette", "flute",      "oboe",       "bassoon",         "woodwind",
    "repair",     "workshop",   "werkstatt",  "hingeline",  "passwordpassword"};

bool is_small_letter(char c) { return c >= 'a' && c <= 'z'; }

/// Number of characters; 0 where it is not UTF-8 or holds a control character.
std::size_t characters_in(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size(); ++count) {
    const Utf8Character c = utf8_character(text, at);
    constexpr char32_t kDelete = 0x7F;
    if (c.bytes == 0 || c.code < U' ' || c.code == kDelete) return 0;
    at += c.bytes;
  }
  return count;
}

bool has_blank_end(std::string_view text) { return text.starts_with(' ') || text.ends_with(' '); }

/// Whether each byte follows the one before it by the same step of -1, 0 or 1 ("aaaa", "3456", "dcba"); "90"
/// is a step too, as the keys lie.
bool is_a_run(std::string_view text) {
  for (const int step : {-1, 0, 1}) {
    bool all = true;
    for (std::size_t n = 1; n < text.size() && all; ++n) {
      const int by = text[n] - text[n - 1];
      all = by == step || (step == 1 && text[n - 1] == '9' && text[n] == '0') ||
            (step == -1 && text[n - 1] == '0' && text[n] == '9');
    }
    if (all) return true;
  }
  return false;
}

/// Whether it is one piece of at most half its length, again and again.
bool repeats(std::string_view text, std::size_t longest_piece) {
  for (std::size_t size = 1; size <= longest_piece && size * 2 <= text.size(); ++size) {
    bool all = true;
    for (std::size_t n = size; n < text.size() && all; ++n) all = text[n] == text[n - size];
    if (all) return true;
  }
  return false;
}

}  // namespace

std::string login_as_kept(std::string_view login) {
  std::string out(login);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

Expected<void> check_login(std::string_view login) {
  constexpr std::size_t kLongest = 64;
  const std::size_t count = characters_in(login);
  if (count < 1 || count > kLongest || has_blank_end(login))
    return fail(Fault::content, "nobody can log in with this name",
                "1 to 64 characters, no blank at its ends");
  return {};
}

Expected<void> check_password(std::string_view password, std::string_view login, const Rules& rules) {
  const std::string range =
      fmt::format("{} to {} characters", rules.shortest_password, rules.longest_password);
  if (!is_utf8(password)) return fail(Fault::content, "the password is no text", range);
  std::size_t count = 0;
  for (std::size_t at = 0; at < password.size(); ++count) at += utf8_character(password, at).bytes;
  if (count < rules.shortest_password) return fail(Fault::content, "the password is too short", range);
  if (count > rules.longest_password) return fail(Fault::content, "the password is too long", range);
  const std::string small = login_as_kept(password);
  // What is left when figures and signs round it are taken away.
  const auto letter = [](char c) { return is_small_letter(c) || static_cast<unsigned char>(c) >= 0x80; };
  const auto first = std::find_if(small.begin(), small.end(), letter);
  const auto last = std::find_if(small.rbegin(), small.rend(), letter).base();
  const std::string core = first < last ? std::string(first, last) : std::string();
  constexpr std::size_t kLongestPiece = 4;
  const bool of_the_name = small.find(login) != std::string::npos && !login.empty() &&
                           (login.size() * 2 >= small.size() || repeats(small, login.size()));
  const bool common = std::any_of(kCommonWords.begin(), kCommonWords.end(),
                                  [&](std::string_view word) { return core == word; });
  if (of_the_name)
    return fail(Fault::content, "the password is the name", "one that is not made of the name");
  if (common || is_a_run(small) || repeats(small, kLongestPiece))
    return fail(Fault::content, "the password is easily guessed", "a few words that do not belong together");
  return {};
}

Expected<void> check_pin(std::string_view pin) {
  const bool digits = std::all_of(pin.begin(), pin.end(), [](char c) { return c >= '0' && c <= '9'; });
  if (pin.size() < 4 || pin.size() > 8 || !digits)
    return fail(Fault::content, "this is no PIN", "4 to 8 digits");
  if (is_a_run(pin))
    return fail(Fault::content, "the PIN is easily guessed", "digits that are not alike and no run");
  return {};
}

Expected<void> check_name(std::string_view name) {
  constexpr std::size_t kLongest = 80;
  const std::size_t count = characters_in(name);
  if (count < 1 || count > kLongest || has_blank_end(name))
    return fail(Fault::content, "a device cannot have this name", "1 to 80 characters, no blank at its ends");
  return {};
}

std::string peer_as_counted(const std::string& peer) {
  in_addr four{};
  if (inet_pton(AF_INET, peer.c_str(), &four) == 1) return peer;
  in6_addr six{};
  // A zone ("fe80::1%eth0") is none of the address's.
  if (inet_pton(AF_INET6, peer.substr(0, peer.find('%')).c_str(), &six) != 1) return peer;
  const auto& bytes = six.s6_addr;
  if (IN6_IS_ADDR_V4MAPPED(&six))
    return fmt::format("{}.{}.{}.{}", bytes[12], bytes[13], bytes[14], bytes[15]);
  std::string out;
  for (std::size_t n = 0; n < 8; ++n) out += fmt::format("{:02x}", bytes[n]);
  return out;
}

}  // namespace hingeline::access
