#pragma once
/// \file
/// What a document and the shop say of materials and of where an instrument is played.

#include <array>
#include <optional>
#include <string>

#include "hingeline/base/error.h"
#include "hingeline/body/posts.h"
#include "hingeline/body/season.h"
#include "hingeline/service/bench.h"
#include "hingeline/service/worked.h"

namespace hingeline::service {

/// The material of that name: the shop's, else one of the general figures; nullptr where neither has it.
const record::MaterialPreset* material_of(const record::Shop& shop, const std::string& name);

/// Thermal expansion, 1e-6/K; absent where neither document nor shop says it.
std::optional<Given> expansion_given(const std::string& name, const record::NumberEntry& own,
                                     const std::string& material, const record::Shop& shop);
/// Growth along the hinge line per percent of moisture content, 1e-6/%; 0 for what does not move.
Given moisture_given(const std::string& name, const std::string& material, const record::Shop& shop);

/// Where it is played.
struct Climate {
  std::string name;  ///< of the service range; empty: the document's own temperatures
  Given bench;       ///< degC
  std::optional<Given> coldest;
  std::optional<Given> warmest;
  Given drier;  ///< % of moisture content
  Given wetter;

  /// As the room of the body takes it; a temperature nobody gave is the bench's.
  [[nodiscard]] body::Service service() const;
};

/// `asked` names one of the shop's service ranges (or of the general figures') and comes before all the
/// document says; else the document's own temperatures, and its named range for what is left open.
/// Fault::not_found for a name that neither has, with the nearest.
Expected<Climate> climate_of(const record::Body& body, const record::Shop& shop, const std::string& asked);

/// The figures of one hinge line that warmth and moisture work on.
struct LineGivens {
  Given span;
  Given body_expansion;
  Given key_expansion;
  Given body_moisture;
  Given key_moisture;
  std::optional<Given> dries_by;  ///< the document's own word on moisture, mm

  [[nodiscard]] body::HingeLine line() const;
};

/// Which joints of a key ride on a cone's flank, as the window takes them; none on a rod.
std::array<std::optional<body::ConeJoint>, 2> cone_joints(const KeyResult& key);

}  // namespace hingeline::service
