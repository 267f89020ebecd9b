#include <fmt/format.h>

#include "hingeline/photo/clean.h"
#include "hingeline/store/sha256.h"
#include "inside.h"

namespace hingeline::desk {

Answer<std::string> Desk::add_photo(const Who& who, const std::string& id, const std::string& of,
                                    const std::string& key, const std::string& caption,
                                    std::string_view bytes) {
  if (auto may = must_have(who, right_for(record::SlipKind::photo)); !may) return tl::unexpected(may.error());
  photo::Bounds bounds;
  bounds.bytes = inside_->rules.photo_bytes;
  const auto clean = photo::clean(bytes, bounds);
  if (!clean) return as_trouble(clean.error());
  record::PhotoSlip says;
  says.type = photo::media_type(clean->type);
  says.sha256 = store::sha256_hex(clean->bytes);
  says.bytes = record::entry_of(static_cast<double>(clean->bytes.size()));
  says.caption = caption;
  record::Slip slip;
  slip.id = id;
  if (!record::is_slip_id(id))
    return refuse(Kind::not_valid, "\"id\" is no id of a slip", "a UUID of version 7, in small letters");
  slip.at = moment_of(id);
  slip.by = who.person;
  slip.of = of;
  slip.key = key;
  const std::string sha256 = says.sha256;
  slip.body = std::move(says);
  auto read = sound(slip);
  if (!read) return tl::unexpected(read.error());

  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  if (const auto visit = inside_->needed(**lent, of, record::SlipKind::visit); !visit)
    return tl::unexpected(visit.error());
  const auto* data = reinterpret_cast<const std::byte*>(clean->bytes.data());  // NOLINT: characters as bytes
  if (auto kept = (*lent)->keep_bytes(sha256, sql::Bytes(data, data + clean->bytes.size())); !kept)
    return as_trouble(kept.error());
  const auto written = inside_->write(**lent, who, {std::move(*read)}, {});
  if (!written) return tl::unexpected(written.error());
  if (written->front().outcome == store::Outcome::refused)
    return refuse(Kind::not_valid, written->front().what, written->front().expected);
  return Inside::outcomes_text(*written, {{"sha256", sha256},
                                          {"width", clean->width},
                                          {"height", clean->height},
                                          {"upright", clean->upright},
                                          {"bytes", clean->bytes.size()}});
}

Answer<Picture> Desk::photo(const Who& who, const std::string& thing) {
  if (auto may = must_have(who, Right::look); !may) return tl::unexpected(may.error());
  const auto lent = inside_->book();
  if (!lent) return tl::unexpected(lent.error());
  const auto found = inside_->needed(**lent, thing, record::SlipKind::photo);
  if (!found) return tl::unexpected(found.error());
  const auto& says = std::get<record::PhotoSlip>(found->now.slip.body);
  auto bytes = (*lent)->bytes_of(says.sha256);
  if (!bytes) return as_trouble(bytes.error());
  if (!*bytes) return refuse(Kind::not_found, "the photo's bytes are not here", "a copy that has them");
  return Picture{says.type, says.sha256, std::move(**bytes)};
}

}  // namespace hingeline::desk
