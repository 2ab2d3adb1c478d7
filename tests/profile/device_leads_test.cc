// SPDX-License-Identifier: Apache-2.0
#include "profile/device_leads.h"

#include <gmock/gmock.h>

#include "profile/sensors.h"
#include "profile/triggers.h"

namespace drycrank::profile {
namespace {

using ::testing::ElementsAre;

TEST(DeviceLeads, AnOutputHasThreeAndDrawsFromItsSupply) {
  FrequencySensor wheel;
  wheel.output.supply = "WSS.1";
  wheel.output.ground = "WSS.2";
  wheel.output.signal = "WSS.3";
  wheel.output.supply_ohm = 900;
  const DeviceLeads its = LeadsOf(SensorModel(wheel));
  EXPECT_EQ(its.leads, Leads::kThree);
  EXPECT_EQ(its.gives, Gives::kPulses);
  EXPECT_EQ(its.supply_ohm, 900);
  EXPECT_THAT(its.terminals(), ElementsAre("WSS.1", "WSS.2", "WSS.3"));
}

TEST(DeviceLeads, AThermistorMayBeTurnedRoundAThermocoupleMayNot) {
  const NtcSensor ntc{"CLT.1", "CLT.2", {}};
  EXPECT_EQ(LeadsOf(SensorModel(ntc)).leads, Leads::kTwo);
  EXPECT_THAT(LeadsOf(SensorModel(ntc)).terminals(), ElementsAre("CLT.1", "CLT.2"));
  EXPECT_EQ(LeadsOf(SensorModel(TypeKSensor{})).leads, Leads::kTwoPolar);
  EXPECT_EQ(LeadsOf(Pickup(VariableReluctancePickup{})).leads, Leads::kTwoPolar);
}

TEST(DeviceLeads, SayWhatIsGiven) {
  EXPECT_EQ(LeadsOf(SensorModel(SwitchSensor{})).gives, Gives::kOnOff);
  EXPECT_EQ(LeadsOf(SensorModel(RatiometricSensor{})).gives, Gives::kLevel);
  EXPECT_TRUE(LeadsOf(SensorModel(RatiometricSensor{})).ratiometric);
  EXPECT_FALSE(LeadsOf(SensorModel(VoltageSensor{})).ratiometric);
  EXPECT_EQ(LeadsOf(Pickup(HallPickup{})).gives, Gives::kPulses);
  EXPECT_EQ(LeadsOf(Pickup(VariableReluctancePickup{})).gives, Gives::kCoil);
}

}  // namespace
}  // namespace drycrank::profile
