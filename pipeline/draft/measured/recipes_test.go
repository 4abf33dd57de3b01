package measured

var blockValues = []printed{
	{"neck width; pit; nape", "6.767 7.767 2.056 | 6.517 7.517 1.972 | 6.767 7.767 2.056 | 7.433 8.433 2.278 | 6.767 7.767 2.056 | 5.350 6.350 1.583 | 7.517 8.517 2.306 | 6.517 7.517 1.972"},
	{"front quarter; back quarter", "25.250 / 25.000 | 30.500 / 26.750 | 24.000 / 24.000 | 31.750 / 30.250 | 22.500 / 22.500 | 17.250 / 17.250 | 28.000 / 28.000 | 27.250 / 25.250"},
	{"inset; front dart; back dart", "1.208; 2.042 / 2.792 | 2.458; 6.292 / 3.542 | 1.833; 3.167 / 4.167 | 1.167; 2.583 / 2.083 | 0.917; 1.333 / 2.333 | 0.667; 0.833 / 1.833 | 1.500; 2.500 / 3.500 | 3.125; 6.750 / 5.750"},
	{"distance front U to front S - distance back U to back S", "1.97 | 3.11 | 0.99 | 3.09 | 0.99 | 0.10 | 0.08 | 2.31"},
	{"length of front neck; length of back neck", "10.924 + 7.599 | 10.549 + 7.314 | 10.924 + 7.599 | 11.924 + 8.358 | 10.924 + 7.599 | 8.799 + 5.984 | 12.049 + 8.453 | 10.549 + 7.314"},
	{"length of front armhole; length of back armhole", "22.552 + 20.507 | 26.342 + 22.201 | 22.884 + 20.955 | 26.847 + 24.941 | 22.037 + 19.771 | 16.231 + 15.254 | 25.193 + 23.790 | 23.180 + 20.717"},
	{"distance front U to front S; distance back U to back S", "21.708 / 19.740 | 24.257 / 21.150 | 20.840 / 19.849 | 23.904 / 20.811 | 20.157 / 19.169 | 12.716 / 12.621 | 21.406 / 21.323 | 22.505 / 20.197"},
	{"2*(length of front side waist + length of front centre waist + length of back side waist + length of back centre waist)", "85.85 | 84.53 | 73.72 | 109.86 | 78.91 | 60.91 | 93.78 | 66.81"},
	{"sleeve height; sleeve front width; sleeve back width", "13.353; 18.269, 16.672 | 15.181; 21.175, 16.833 | 13.613; 18.555, 17.014 | 16.263; 20.858, 19.593 | 12.936; 18.180, 16.100 | 9.495; 13.890, 13.356 | 15.328; 19.990, 19.117 | 13.632; 18.578, 16.492"},
	{"length of sleeve front cap; length of sleeve back cap", "23.752 + 22.307 | 27.542 + 24.001 | 24.084 + 22.755 | 28.047 + 26.741 | 23.237 + 21.571 | 17.431 + 17.054 | 26.393 + 25.590 | 24.380 + 22.517"},
	{"sleeve front width + sleeve back width - upper arm", "4.4 | 4.5 | 10.1 | 3.5 | 2.3 | 8.2 | 3.1 | 4.6"},
	{"length of sleeve front seam; length of sleeve hem; area of sleeve", "42.93; 21.18; 1477 | 42.62; 21.54; 1574 | 48.08; 20.73; 1645 | 37.73; 21.03; 1496 | 45.59; 21.26; 1535 | 31.87; 18.23; 884 | 46.23; 23.62; 1795 | 46.01; 21.23; 1563"},
}

var trousersValues = []printed{
	{"knee round; hem round", "48.0 44.0 | 48.0 44.0 | 44.0 40.0 | 51.5 47.5 | 52.5 48.5 | 35.5 31.5 | 49.0 45.0 | 48.0 44.0"},
	{"rise at side; fork drop", "-0.326; 0.626 | -0.318; 0.609 | -0.181; 0.518 | -0.622; 0.791 | -0.256; 0.697 | -0.157; 0.417 | -0.358; 0.581 | -0.419; 0.762"},
	{"length of front side; length of front inseam; length of back inseam", "105.401; 78.316 / 78.016 | 102.857; 75.786 / 75.486 | 117.857; 88.224 / 87.924 | 100.409; 72.481 / 72.181 | 106.209; 78.858 / 78.558 | 77.661; 56.115 / 55.815 | 112.752; 84.756 / 84.456 | 107.752; 75.511 / 75.211"},
	{"length of front centre + length of front crotch; length of back centre + length of back crotch; length of front centre + length of front crotch + length of back centre + length of back crotch", "29.29 + 38.21 = 67.50 | 29.21 + 38.03 = 67.24 | 31.34 + 39.70 = 71.05 | 30.67 + 40.18 = 70.85 | 29.65 + 39.06 = 68.71 | 22.64 + 29.90 = 52.53 | 30.25 + 39.12 = 69.37 | 34.37 + 43.58 = 77.95"},
}

const (
	blockAreas     = "882.9 / 873.2 | 1014.5 / 888.7 | 820.9 / 835.0 | 1167.9 / 1080.1 | 784.1 / 802.8 | 413.8 / 435.9 | 1044.7 / 1092.5 | 863.3 / 794.6"
	blockFrontArea = "area of front and -1/2 * distance front W1 to front W2 * (down of front W1 - down of front X)" // its dart left out
	blockBackArea  = "area of back and -1/2 * distance back W1 to back W2 * (down of back W1 - down of back P)"
	// the legs of the tunic's princess seam below the bust point, whose panels flare by 3
	belowApex = "root of ((waist level - apex depth)*(waist level - apex depth) + princess intake*princess intake/4) + root of ((hem level - waist level)*(hem level - waist level) + (princess intake/2 + 3)*(princess intake/2 + 3))"
	// the table's side runs straight across the mouth of the side dart
	sideDartArea = " + 1/2 * ((down of front D2 - down of front D1)*(out of front S - out of front D1) - (out of front D2 - out of front D1)*(down of front S - down of front D1))"
)

var recipes = []recipe{
	{file: "bodice-block.yaml", unlike: `"longer in front" is`, values: append(blockValues, printed{blockFrontArea + sideDartArea + ";" + blockBackArea, blockAreas}),
		without: map[byte]string{'F': "front waist", 'G': "front waist", 'I': "front waist"}},
	{file: "flat-block.yaml", values: append(blockValues, printed{blockFrontArea + ";" + blockBackArea, blockAreas}, // and of a peplum below it
		printed{"2/pi*(length of front side waist + length of front centre waist + length of back side waist + length of back centre waist); 90*(length of front side waist + length of front centre waist)/(length of front side waist + length of front centre waist + length of back side waist + length of back centre waist)", "27.328; 46.06 | 26.907; 46.00 | 23.466; 46.25 | 34.969; 45.81 | 25.118; 46.16 | 19.387; 46.51 | 29.851; 45.98 | 21.265; 46.29"}), only: "FGI"},
	{file: "straight-skirt.yaml",
		length: 60,
		values: []printed{
			{"front quarter; back quarter; inset; dart", "27.00 26.00; 2.812; 2.812 | 26.50 25.50; 2.688; 2.688 | 24.62 23.62; 3.125; 3.125 | 29.75 28.75; 1.188; 1.188 | 29.38 28.38; 3.500; 6.250 | 18.00 17.00; 1.438; 1.438 | 27.00 26.00; 1.812; 1.812 | 28.75 27.75; 3.500; 8.500"},
			{"length of front hip curve; 2*(length of front waist + length of back waist - 2*dart); area of front; area of back and back quarter", // the table's back ends 1 lower, from its own waist; here the sides are of one length
				"20.440; 83.89; 1609 1562 | 19.430; 82.89; 1575 1529 | 22.470; 71.92; 1575 1522 | 18.746; 107.79; 1713 1669 | 22.537; 76.90; 1770 1724 | 14.289; 59.00; 836 797 | 21.295; 91.83; 1741 1689 | 16.655; 65.51; 1758 1711"},
		}},
	{file: "half-circle-skirt.yaml", unlike: `the ease at the hip is`, values: []printed{
		{"radius; pi*(radius + length); pi*(radius + hip depth) - hip", "26.420; 271.5; +40.7 | 26.101; 270.5; +38.5 | 22.600; 259.5; +44.5 | 34.059; 295.5; +49.0 | 24.192; 264.5; +30.5 | 18.462; 246.5; +32.8 | 28.966; 279.5; +51.8 | 20.531; 253.0; +2.6"},
	}},
	{file: "gathered-skirt.yaml", values: []printed{
		{"band; cloth round", "83.5; 167.0 | 82.5; 165.0 | 71.5; 143.0 | 107.5; 215.0 | 76.5; 153.0 | 58.5; 117.0 | 91.5; 183.0 | 65.0; 130.0"},
	}},
	{file: "six-gore-skirt.yaml",
		length: 65,
		values: []printed{
			{"12*length of gore waist; down of gore W; 12*length of gore hem", "83.14; 0.348; 165.8 | 82.14; 0.347; 163.8 | 71.12; 0.299; 156.3 | 107.04; 0.212; 176.6 | 76.31; 0.493; 175.4 | 58.06; 0.186; 129.5 | 91.06; 0.237; 165.7 | 65.25; 0.711; 173.3"},
			{"length; length of gore hip curve; length of gore side", "65.0; 19.097 + 45.869 | 64.8; 18.093 + 46.686 | 70.0; 21.107 + 48.874 | 62.2; 17.527 + 44.377 | 66.0; 21.261 + 44.957 | 50.2; 13.043 + 37.041 | 70.0; 20.042 + 49.781 | 66.8; 15.579 + 52.052"},
		}},
	{file: "trousers.yaml", unlike: `"(front|back) dart" is|the ease at the waist is`,
		without: map[byte]string{'D': `"back dart" is`, 'F': `"back dart" is`, 'G': `"back dart" is`},
		values: append(trousersValues, []printed{
			{"front inset; front dart; back inset; back dart", "2.00 2.00; 0.74 1.48 | 1.88 1.88; 0.66 1.31 | 2.31 2.31; 0.85 1.70 | 0.75 0.00; -1.15 0.00 | 3.50 4.62; 2.11 4.23 | 1.25 0.00; 0.13 0.00 | 1.00 1.00; 0.10 0.00 | 3.50 6.88; 2.67 5.33"},
			{"2*(length of front waist + length of back waist - front dart - back dart); area of front; area of back", "84.71; 2545 2829 | 83.71; 2463 2738 | 72.73; 2592 2897 | 108.58; 2655 2937 | 77.84; 2792 3088 | 59.87; 1292 1480 | 92.64; 2773 3074 | 66.41; 2663 2933"},
		}...)},
	{file: "trousers-without-darts.yaml", only: "DF",
		values: append(trousersValues, []printed{
			{"front inset; front inset - front inset; back inset; back inset - back inset", "2.00 2.00; 0.74 1.48 | 1.88 1.88; 0.66 1.31 | 2.31 2.31; 0.85 1.70 | 0.75 0.00; -1.15 0.00 | 3.50 4.62; 2.11 4.23 | 1.25 0.00; 0.13 0.00 | 1.00 1.00; 0.10 0.00 | 3.50 6.88; 2.67 5.33"},
			{"2*(length of front waist + length of back waist); area of front; area of back", "84.71; 2545 2829 | 83.71; 2463 2738 | 72.73; 2592 2897 | 108.58; 2655 2937 | 77.84; 2792 3088 | 59.87; 1292 1480 | 92.64; 2773 3074 | 66.41; 2663 2933"},
		}...)},
	{file: "bib-apron.yaml", values: []printed{
		{"2*bib half; bib height; 2*skirt half; skirt length; strap", "28.0 x 26.6; 63.2; 56.4; 54.8 | 26.5 x 27.6; 62.0; 55.0; 56.1 | 26.5 x 27.1; 57.4; 63.3; 52.9 | 32.0 x 28.7; 70.1; 53.4; 60.6 | 25.5 x 26.1; 69.1; 56.7; 52.9 | 19.5 x 18.6; 40.9; 41.2; 37.9 | 33.5 x 29.8; 63.2; 60.5; 57.5 | 27.0 x 25.8; 67.6; 57.2; 54.8"},
		{"length of apron hollow; twice area of apron", "36.32; 4498 | 37.30; 4340 | 35.41; 4513 | 39.00; 4876 | 38.65; 4808 | 25.05; 2124 | 37.55; 5005 | 37.35; 4770"},
	}},
	{file: "hood.yaml", values: []printed{
		{"wide; tall; hood reach; length of hood crown + length of hood back seam; length of hood face", "24.00; 35.25; 18.176; 52.99; 35.30 | 22.75; 35.75; 17.511; 52.47; 35.77 | 24.25; 36.25; 18.176; 54.17; 36.31 | 23.50; 35.00; 19.945; 52.35; 35.00 | 23.75; 36.50; 18.176; 54.01; 36.53 | 22.25; 33.00; 14.403; 49.40; 33.22 | 24.75; 37.00; 20.166; 55.30; 37.00 | 23.75; 36.00; 17.511; 53.52; 36.07"},
	}},
	{file: "flat-collar.yaml", values: []printed{
		{"length of collar front neck + length of collar back neck; collar outer", "18.522; 33.56 | 17.862; 32.81 | 18.522; 33.61 | 20.282; 35.26 | 18.522; 33.58 | 14.784; 29.56 | 20.502; 35.61 | 17.862; 32.84"},
	}},
	{file: "stand-collar.yaml", values: []printed{
		{"collar radius; neck edge/2/collar radius*180/pi; length of collar top", "114.11; 9.30; 17.954 | 106.10; 9.65; 17.273 | 114.11; 9.30; 17.954 | 136.87; 8.49; 19.764 | 114.11; 9.30; 17.954 | 72.60; 11.67; 14.071 | 139.86; 8.40; 19.989 | 106.10; 9.65; 17.273"},
	}},
	{file: "section-cap.yaml", values: []printed{
		{"2*length of section base; height; length of section edge", "9.500; 17.08; 17.96 | 9.083; 16.32; 17.16 | 9.583; 17.23; 18.12 | 9.333; 16.77; 17.64 | 9.417; 16.93; 17.80 | 8.917; 16.01; 16.84 | 9.750; 17.54; 18.44 | 9.417; 16.93; 17.80"},
	}},
	{file: "section-cap.yaml",
		change: []string{"sections: 6\n  slope: 1.7321", "sections: 8\n  slope: 2.4142", "cut 6", "cut 8", "12 times", "16 times", "12*", "16*"},
		values: []printed{
			{"2*length of section base; length of section edge", "7.125; 17.58 | 6.812; 16.80 | 7.188; 17.74 | 7.000; 17.27 | 7.062; 17.43 | 6.688; 16.48 | 7.312; 18.05 | 7.062; 17.43"},
		}},
	{file: "peplum-top.yaml", unlike: `"longer in front" is|the ease at the hip is`, without: map[byte]string{'F': "front waist", 'G': "front waist", 'I': "front waist"}, values: []printed{
		{"2*(front waist seam + back waist seam); radius; 2*(length of peplum front hem + length of peplum back hem)", "85.85; 27.328; 145.54 | 84.53; 26.907; 141.08 | 73.72; 23.466; 139.70 | 109.86; 34.969; 164.84 | 78.91; 25.118; 144.88 | 60.91; 19.387; 101.75 | 93.78; 29.851; 156.61 | 66.81; 21.265; 113.93"},
		{"front waist seam/radius*180/pi; back waist seam/radius*180/pi; twice area of peplum front and area peplum back", "46.06 / 43.94; 2198 | 46.00 / 44.00; 2031 | 46.25 / 43.75; 2241 | 45.81 / 44.19; 2404 | 46.16 / 43.84; 2350 | 46.51 / 43.49; 1057 | 45.98 / 44.02; 2504 | 46.29 / 43.71; 1356"},
	}},
	// a quarter of a circle is drawn with twice the radius: twice the figures above
	{file: "peplum-top.yaml", unlike: `"longer in front" is`, only: "ABCD", change: []string{"circle: 1/2", "circle: 1/4"}, values: []printed{
		{"radius", "54.66 | 53.81 | 46.93 | 69.94 | 50.24 | 38.77 | 59.70 | 42.53"},
	}},
	{file: "yoke-shirt.yaml", change: []string{"arm length - dropped - cuff", "arm length - dropped"}, // the table's sleeve has no cuff
		values: []printed{
			{"front quarter; underarm; length of front armhole", "28.625; 26.06; 25.001 | 32.125; 25.47; 28.699 | 27.500; 26.56; 23.819 | 34.500; 27.78; 31.470 | 30.375; 26.06; 25.742 | 21.709; 20.58; 19.283 | 31.500; 29.81; 28.663 | 29.750; 24.97; 25.920"},
			{"length of yoke armhole + length of back armhole", "25.001 | 28.699 | 23.819 | 31.470 | 25.742 | 19.283 | 28.663 | 25.920"},
			{"neck loop; to the next half slit; length of front side", "39.92; 10.5; 41.50 | 38.60; 9.5; 41.50 | 39.92; 10.5; 43.50 | 43.45; 8.0; 41.00 | 39.92; 10.0; 43.00 | 32.43; 12.5; 28.50 | 43.89; 9.0; 44.00 | 38.60; 10.5; 37.50"},
			{"sleeve cap height; sleeve front width + sleeve back width; length of sleeve front seam", "11.50; 42.96; 43.53 | 13.35; 49.03; 44.18 | 10.91; 41.02; 48.86 | 14.73; 53.58; 40.33 | 11.87; 44.18; 45.74 | 8.64; 33.57; 31.32 | 13.33; 48.97; 47.40 | 11.96; 44.47; 46.64"},
		}},
	{file: "princess-tunic.yaml", unlike: `"back dart" is`, values: []printed{
		{"front quarter; back quarter; taken in; princess intake; back dart", "26.25 26.00; 1.31; 1.44, 1.19 | 31.50 27.75; 2.50; 5.75, 2.00 | 25.00 25.00; 2.25; 2.25, 2.25 | 32.75 31.25; 1.25; 2.00, 0.50 | 23.50 23.50; 0.88; 0.88, 0.88 | 18.25 18.25; 0.50; 0.50, 0.50 | 29.00 29.00; 1.75; 1.75, 1.75 | 28.25 26.25; 2.50; 6.88, 4.88"},
		{"distance front X to front M1; distance front X to front M2; " + belowApex, "25.41 25.01; 42.29 | 26.96 26.35; 42.44 | 24.04 23.82; 45.35 | 28.39 27.81; 41.87 | 24.12 23.91; 44.22 | 16.18 16.06; 31.86 | 25.72 25.36; 46.31 | 25.99 25.51; 38.33"},
		{"out of front Es + 6; out of front Es + 6 + 2*5", "34.31 / 44.31 | 36.33 / 46.33 | 31.80 / 41.80 | 38.84 / 48.84 | 37.95 / 47.95 | 25.21 / 35.21 | 34.55 / 44.55 | 36.65 / 46.65"},
	}},
	{file: "folded-overdress.yaml", unlike: `"back dart" is`, values: []printed{ // the tunic's numbers: what its seam takes is folded here
		{"front quarter; back quarter; taken in; princess intake; back dart", "26.25 26.00; 1.31; 1.44, 1.19 | 31.50 27.75; 2.50; 5.75, 2.00 | 25.00 25.00; 2.25; 2.25, 2.25 | 32.75 31.25; 1.25; 2.00, 0.50 | 23.50 23.50; 0.88; 0.88, 0.88 | 18.25 18.25; 0.50; 0.50, 0.50 | 29.00 29.00; 1.75; 1.75, 1.75 | 28.25 26.25; 2.50; 6.88, 4.88"},
		{"distance front X to front M1; distance front X to front M2", "25.41 25.01 | 26.96 26.35 | 24.04 23.82 | 28.39 27.81 | 24.12 23.91 | 16.18 16.06 | 25.72 25.36 | 25.99 25.51"},
	}},
	// a cloak and a waistcoat have no recipe there: of their rules of common practice, the sums by hand
	{file: "gore-cloak.yaml", values: []printed{{"radius; 12*length of gore hem", "12.43; 385.2 | 12.01; 382.5 | 12.43; 419.0 | 13.55; 369.8 | 12.43; 391.9 | 10.05; 277.7 | 13.69; 422.9 | 12.01; 396.0"}}},
	{file: "waistcoat.yaml", values: []printed{{"quarter; taken in; 2*out of front Ws + 2*out of back Ws", "26.125; 3.000; 92.500 | 29.625; 3.000; 106.500 | 25.000; 3.000; 88.000 | 32.000; 3.000; 116.000 | 23.500; 2.750; 83.000 | 18.250; 2.000; 65.000 | 29.000; 3.000; 104.000 | 27.250; 3.000; 97.000"}}},
	{file: "set-in-sleeve.yaml", within: 0.015, values: []printed{ // the height was sought in steps
		{"width; sleeve height", "35.50; 12.85 | 38.50; 15.06 | 32.88; 14.82 | 42.00; 15.42 | 37.00; 10.93 | 24.00; 11.02 | 41.00; 13.94 | 35.50; 13.45"},
	}},
}
