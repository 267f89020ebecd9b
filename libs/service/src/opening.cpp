#include "opening.h"

#include <fmt/format.h>

namespace hingeline::service {
namespace {

bool stands_open(const record::Key& key) {
  return key.pad && (!key.moving || key.moving->stands == record::Stands::open);
}

/// The entry's own number; else the other's, if it is more surely known.
std::optional<Given> either(const std::string& name, const record::LengthEntry& own,
                            const record::LengthEntry* other, const char* others_name,
                            const record::Shop& shop) {
  const bool stands_in = other != nullptr && !own.known() && (other->known() || (!own.range && other->range));
  if (!stands_in) return given(name, own, {}, shop);
  return given(fmt::format("{} (not read: by {})", name, others_name), *other, {}, shop);
}

}  // namespace

std::optional<Given> opening_at_rest(const std::string& name, const record::Key& key,
                                     const record::Shop& shop) {
  const record::LengthEntry* travel = stands_open(key) && key.moving ? &key.moving->travel : nullptr;
  return either(name, key.opening, travel, "\"travel\"", shop);
}

std::optional<Given> travel_at_pad(const std::string& name, const record::Key& key,
                                   const record::Shop& shop) {
  const bool moves = stands_open(key) && !(key.opening.known() && key.opening.value.raw() <= 0);
  return either(name, key.moving ? key.moving->travel : record::LengthEntry{}, moves ? &key.opening : nullptr,
                "\"opening\"", shop);
}

}  // namespace hingeline::service
